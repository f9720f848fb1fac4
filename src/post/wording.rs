//! What messages say: words with named placeholders such as `{customer}`, checked when saved and filled in when used.
//!
//! A literal brace is written twice, `{{` or `}}`. A placeholder that has no value is an error, never an empty hole.

use super::placeholders::{LINK, placeholders};
use super::private_link::MARK;
use std::collections::BTreeMap;

pub use super::defaults::default_wording;

crate::words! {
    /// What a message is for.
    pub enum Purpose {
        /// A deposit was recorded.
        DepositReceipt = "deposit_receipt", "Deposit received";
        /// A payment was recorded.
        PaymentReceipt = "payment_receipt", "Payment received";
        /// A reservation was taken.
        ReservationConfirmed = "reservation_confirmed", "Order confirmed";
        /// The mail address of a stranger's request is to be confirmed.
        RequestConfirm = "request_confirm", "Request: confirm the address";
        /// A request was accepted and a share is set aside.
        RequestAccepted = "request_accepted", "Request accepted";
        /// A request was accepted onto the waiting list.
        RequestWaiting = "request_waiting", "Request on the waiting list";
        /// A request was declined.
        RequestDeclined = "request_declined", "Request declined";
        /// A share came free for somebody on the waiting list.
        MovedUp = "moved_up", "A share came free";
        /// A share is held for somebody on the waiting list until they answer.
        WaitingOffer = "waiting_offer", "Offer from the waiting list";
        /// Shares are left to sell, said to past customers.
        SharesLeft = "shares_left", "Shares left to sell";
        /// The animal has a processing date.
        DateAssigned = "date_assigned", "Processing date";
        /// A share goes to another animal or date.
        PlaceChanged = "place_changed", "Place of the share";
        /// A cut sheet is missing.
        SheetReminder = "sheet_reminder", "Cut sheet missing";
        /// No cut sheet came in time.
        SheetStandard = "sheet_standard", "Standard cut entered";
        /// A late wish for the cut sheet was taken.
        SheetTaken = "sheet_taken", "Late change taken";
        /// A late wish for the cut sheet was refused.
        SheetRefused = "sheet_refused", "Late change refused";
        /// The private link to an order's page.
        PrivateLink = "private_link", "Private link";
        /// The farm decided how a side is cut that two quarters share.
        SideDecided = "side_decided", "Shared side decided";
        /// A customer's mail address was changed from the private page; goes to the old one.
        ContactChanged = "contact_changed", "Mail address changed";
        /// The order stays though its customer asked to cancel.
        CancelStays = "cancel_stays", "Wish to cancel answered";
        /// An order was canceled as its customer asked.
        OrderCancelled = "order_cancelled", "Order canceled";
        /// A bill of sale was made for a share of a live animal.
        BillOfSale = "bill_of_sale", "Bill of sale";
        /// The meat can be collected.
        PickupReady = "pickup_ready", "Ready to collect";
        /// It cannot be collected after all.
        PickupNotYet = "pickup_not_yet", "Not ready after all";
        /// A window to collect it was chosen.
        PickupChosen = "pickup_chosen", "Pickup chosen";
        /// A window was moved, or called off.
        PickupMoved = "pickup_moved", "Pickup changed";
        /// The window comes.
        PickupComing = "pickup_coming", "Pickup comes";
        /// No window was chosen yet.
        PickupMissing = "pickup_missing", "No pickup chosen";
        /// The cut sheets of a date for the plant.
        Packet = "packet", "Packet for the processor";
        /// What the plant entered on its page, to the farm itself.
        PlantNews = "plant_news", "What the processor entered";
        /// An invoice was issued.
        Invoice = "invoice", "Invoice";
        /// A balance is due or past due.
        BalanceReminder = "balance_reminder", "Reminder of a balance";
        /// A balance is past due, said plainly.
        BalanceFirm = "balance_firm", "Overdue balance: firm";
        /// A balance is past due, the last letter before somebody outside is asked to help.
        BalanceLast = "balance_last", "Overdue balance: last letter";
        /// An invoice was canceled.
        CreditNote = "credit_note", "Credit note";
        /// The animal was lost and the share must be assigned again.
        AnimalLost = "animal_lost", "Animal lost";
        /// Money was paid back.
        Refund = "refund", "Money paid back";
    }
}

/// How the mail or letter is called in sentences.
const BODY: &str = "the message";
/// The longest subject, in characters.
pub const SUBJECT_LIMIT: usize = 150;
/// The longest message, in characters.
pub const BODY_LIMIT: usize = 8_000;
/// The longest text message, in characters.
pub const SHORT_LIMIT: usize = 300;

/// The words of one message, with placeholders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wording {
    /// One line.
    pub subject: String,
    /// The mail or letter, several lines.
    pub body: String,
    /// The text message for customers without mail.
    pub short: String,
}

/// The words of one message, ready to go out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filled {
    /// One line without control characters.
    pub subject: String,
    /// Lines ended by `\n`.
    pub body: String,
    /// Lines ended by `\n`.
    pub short: String,
}

/// A part of a wording that cannot be saved.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{sentence}")]
pub struct WordingFault {
    /// `subject`, `body` or `short`.
    pub field: &'static str,
    /// What to do about it.
    pub sentence: String,
}

/// What a wording's placeholders stand for in one message. A blank value counts as missing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Values(BTreeMap<&'static str, String>);

impl Values {
    /// No values yet.
    pub fn new() -> Self {
        Self::default()
    }
    /// Adds or replaces one value.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.0.insert(name, value.into());
        self
    }
    /// Invented values for a preview where there is no order yet.
    pub fn examples(purpose: Purpose) -> Self {
        Self(placeholders(purpose).iter().map(|p| (p.name, p.example.to_owned())).collect())
    }
    /// Both together; where both have a value that is not blank, that of `over` holds.
    #[must_use]
    pub fn overlaid(mut self, over: &Self) -> Self {
        for (name, value) in over.0.iter().filter(|(_, v)| !v.trim().is_empty()) {
            self.0.insert(name, value.clone());
        }
        self
    }
    /// Puts the example of one placeholder in.
    #[must_use]
    pub fn with_example(self, purpose: Purpose, name: &str) -> Self {
        match placeholders(purpose).iter().find(|p| p.name == name) {
            Some(p) => self.with(p.name, p.example),
            None => self,
        }
    }
    fn get(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(|v| v.trim()).filter(|v| !v.is_empty())
    }
}

enum Piece<'a> {
    Text(String),
    Hole(&'a str),
}

fn pieces(text: &str) -> Result<Vec<Piece<'_>>, String> {
    let mut out = Vec::new();
    let mut literal = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        let (before, tail) = rest.split_at(at);
        literal.push_str(before);
        if let Some(after) = tail.strip_prefix("{{") {
            literal.push('{');
            rest = after;
        } else if let Some(after) = tail.strip_prefix("}}") {
            literal.push('}');
            rest = after;
        } else if let Some(after) = tail.strip_prefix('{') {
            let name = after.split_once('}').filter(|(name, _)| !name.contains(['{', '\n']));
            let Some((name, after)) = name else {
                let start: String = tail.chars().take(20).collect();
                return Err(format!(
                    "“{start}” opens a brace that is not closed. Close it, or write {{{{ for the sign itself."
                ));
            };
            out.push(Piece::Text(std::mem::take(&mut literal)));
            out.push(Piece::Hole(name.trim()));
            rest = after;
        } else {
            return Err("There is a } without the { before it. Write }} for the sign itself.".to_owned());
        }
    }
    literal.push_str(rest);
    out.push(Piece::Text(literal));
    Ok(out)
}

fn unknown(name: &str, purpose: Purpose) -> String {
    let list: Vec<String> = placeholders(purpose).iter().map(|p| format!("{{{}}}", p.name)).collect();
    format!("{{{name}}} is not known in this message. You can use {}.", list.join(", "))
}

fn check_text(purpose: Purpose, text: &str, limit: usize, what: &str) -> Result<(), String> {
    if text.trim().is_empty() {
        return Err(format!("Write {what}, or go back to the default."));
    }
    let length = text.chars().count();
    if length > limit {
        return Err(format!("This is {length} characters long. Keep {what} to {limit}."));
    }
    for piece in pieces(text)? {
        let Piece::Hole(name) = piece else { continue };
        if !placeholders(purpose).iter().any(|p| p.name == name) {
            return Err(unknown(name, purpose));
        }
        if name == LINK.name && what != BODY {
            return Err("{link} can stand in the message only: it is made as a mail leaves. For a text message, take one from the order’s page.".into());
        }
    }
    Ok(())
}

fn fill_text(purpose: Purpose, text: &str, values: &Values) -> Result<String, String> {
    let mut out = String::with_capacity(text.len().saturating_mul(2));
    for piece in pieces(text)? {
        match piece {
            Piece::Text(t) => out.push_str(&t.replace(MARK, "")),
            Piece::Hole(name) => match values.get(name) {
                // Only the link's own place may carry the mark that a link is put in for.
                Some(value) if name == LINK.name => out.push_str(value),
                Some(value) => out.push_str(&value.replace(MARK, "")),
                None if placeholders(purpose).iter().any(|p| p.name == name) => {
                    return Err(format!(
                        "There is nothing to put in the place of {{{name}}}. Fill it in, or take {{{name}}} out of the wording."
                    ));
                }
                None => return Err(unknown(name, purpose)),
            },
        }
    }
    Ok(tidy_lines(&out))
}

/// One line: control characters and line breaks become single spaces, ends are trimmed.
pub fn one_line(text: &str) -> String {
    let spaced: String = text.chars().map(|c| if is_break(c) { ' ' } else { c }).collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn is_break(c: char) -> bool {
    c.is_control() || matches!(c, '\u{2028}' | '\u{2029}')
}

/// Lines ended by `\n`, no other control characters than tab, no blanks at line ends.
pub fn tidy_lines(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<String> = text
        .split('\n')
        .map(|l| l.chars().filter(|c| *c == '\t' || !is_break(*c)).collect::<String>().trim_end().to_owned())
        .collect();
    lines.join("\n").trim_matches('\n').to_owned()
}

impl Wording {
    /// What a form sent, with line ends as they are stored.
    pub fn typed(subject: &str, body: &str, short: &str) -> Self {
        Self { subject: one_line(subject), body: tidy_lines(body), short: tidy_lines(short) }
    }

    /// Whether this wording can be saved for `purpose`.
    ///
    /// # Errors
    /// One [`WordingFault`] per field that is empty, too long, or has a brace or placeholder that does not fit.
    pub fn check(&self, purpose: Purpose) -> Result<(), Vec<WordingFault>> {
        let faults: Vec<WordingFault> = [
            ("subject", check_text(purpose, &self.subject, SUBJECT_LIMIT, "the subject")),
            ("body", check_text(purpose, &self.body, BODY_LIMIT, BODY)),
            ("short", check_text(purpose, &self.short, SHORT_LIMIT, "the text message")),
        ]
        .into_iter()
        .filter_map(|(field, result)| result.err().map(|sentence| WordingFault { field, sentence }))
        .collect();
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    /// The finished words.
    ///
    /// # Errors
    /// [`WordingFault`] naming the placeholder that has no value or is not known.
    pub fn fill(&self, purpose: Purpose, values: &Values) -> Result<Filled, WordingFault> {
        let at = |field: &'static str| move |sentence: String| WordingFault { field, sentence };
        Ok(Filled {
            subject: one_line(&fill_text(purpose, &self.subject, values).map_err(at("subject"))?),
            body: fill_text(purpose, &self.body, values).map_err(at("body"))?,
            short: fill_text(purpose, &self.short, values).map_err(at("short"))?,
        })
    }
}

#[cfg(test)]
mod tests;
