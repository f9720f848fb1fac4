//! Letters about an overdue balance: three tones, by hand or by schedule, with a stop for each customer.

use super::message_values::{order_values, with_invoice};
use super::queue_message::{ToSay, queue_message_by};
use super::{Doing, Failure};
use crate::book::balances;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, InvoiceId, MessageId};
use crate::book::rows::balances::{BalanceRule, BalanceStop, NewBalanceLetter};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, invoices, people};
use crate::post::envelope::check_address;
use crate::post::phrases::long_date;
use crate::post::wording::{Purpose, Values};
use crate::trade::money::Money;
use crate::trade::overdue::{GRACE, Schedule, Tone, due};
use crate::trade::vocabulary::{Channel, PaperKind};
use chrono::{Days, Timelike};

/// From which hour of the farm's day letters go out by themselves.
const MORNING: u32 = 8;
/// The most open invoices one look takes up.
const MOST: i64 = 5_000;

/// What holds while the farm said nothing: nothing goes out by itself, and no interest.
pub const DEFAULTS: BalanceRule = BalanceRule { friendly_after: None, firm_after: None, interest: None, version: 0 };

impl Tone {
    /// The message it is written with.
    pub const fn purpose(self) -> Purpose {
        match self {
            Self::Friendly => Purpose::BalanceReminder,
            Self::Firm => Purpose::BalanceFirm,
            Self::Last => Purpose::BalanceLast,
        }
    }
}

/// The rule in force; its version is 0 while it is the default.
///
/// # Errors
/// The database's own.
pub fn in_force(c: &mut DbConn) -> Result<BalanceRule, Failure> {
    Ok(balances::rule(c)?.unwrap_or(DEFAULTS))
}

/// Saves the rule.
///
/// # Errors
/// [`Failure::Refused`] when the firm letter would come before the friendly one; [`Failure::Stale`] when somebody saved in between.
pub fn save_rule(tx: &mut Tx, doing: &Doing, new: &BalanceRule, seen: i64) -> Result<(), Failure> {
    if let (Some(friendly), Some(firm)) = (new.friendly_after, new.firm_after)
        && firm <= friendly
    {
        return Err(Failure::refuse("firm_after", "The firm letter comes after the friendly one. Write more days."));
    }
    if !balances::save_rule(tx, new, seen)? {
        return Err(Failure::Stale);
    }
    let after = |days: Option<i64>| days.map_or("not at all".to_string(), |n| format!("after {n} days"));
    let interest = new.interest.map_or("none".to_string(), |p| format!("{} % a month", p.shown()));
    let detail = format!(
        "By itself: friendly {}, firm {}. Interest: {interest}.",
        after(new.friendly_after),
        after(new.firm_after)
    );
    let line = Line { line: "How overdue balances are asked for was changed".into(), detail, ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// What a letter about an invoice says, and what is owed on it.
///
/// # Errors
/// [`Failure::Refused`] when it is voided or nothing is owed.
pub fn letter_values(c: &mut DbConn, doing: &Doing, id: InvoiceId) -> Result<(Values, Money), Failure> {
    let (invoice, _, note) = invoices::get(c, id)?;
    if note.is_some() {
        return Err(Failure::refuse("", "This invoice is voided; nobody is asked to pay it."));
    }
    let paid = invoices::paid(c, &[id])?.get(&id).copied().unwrap_or_default();
    let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
    if !owed.is_positive() {
        return Err(Failure::refuse("", "Nothing is owed on this invoice any more, so nobody was reminded."));
    }
    let farm = farm::get(c)?;
    let values = order_values(c, invoice.reservation_id)?;
    let pay_by = doing.now.today.checked_add_days(Days::new(GRACE)).unwrap_or(doing.now.today);
    let values = with_invoice(values, &invoice.number, owed, invoice.due_on, doing.now, &farm);
    Ok((values.with("pay_by", long_date(pay_by)), owed))
}

/// Writes a letter about an invoice into the outbox, on paper if asked to, else as the customer is usually written to.
///
/// # Errors
/// As [`letter_values`]; [`Failure::Refused`] for a firm or last letter before the invoice is due.
pub fn write_letter(
    tx: &mut Tx,
    doing: &Doing,
    id: InvoiceId,
    tone: Tone,
    on_paper: bool,
) -> Result<MessageId, Failure> {
    write(tx, doing, id, tone, on_paper, false)
}

fn write(
    tx: &mut Tx,
    doing: &Doing,
    id: InvoiceId,
    tone: Tone,
    on_paper: bool,
    by_itself: bool,
) -> Result<MessageId, Failure> {
    let (values, owed) = letter_values(tx.conn(), doing, id)?;
    let (invoice, who, _) = invoices::get(tx.conn(), id)?;
    let is_late = invoice.due_on.is_some_and(|day| day < doing.now.today);
    if tone != Tone::Friendly && !is_late {
        return Err(Failure::refuse("tone", "This invoice is not past due. Only a friendly reminder fits now."));
    }
    let say = ToSay {
        customer: who.id,
        reservation: Some(invoice.reservation_id),
        purpose: tone.purpose(),
        values,
        attachment: Some((PaperKind::Invoice, id.0)),
    };
    let message_id = queue_message_by(tx, doing, &say, on_paper.then_some(Channel::Letter))?;
    let (written_on, made_at) = (doing.now.today, doing.now.at);
    balances::note(tx, &NewBalanceLetter { invoice_id: id, tone, message_id, by_itself, written_on, made_at })?;
    let schedule = if by_itself { " by schedule" } else { "" };
    let line = Line {
        line: format!("A {} about invoice {} was put into the outbox{schedule}", tone.label(), invoice.number),
        detail: format!("{} was owed.", owed.dollars()),
        customer: Some(who.id),
        reservation: Some(invoice.reservation_id),
        invoice: Some(id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(message_id)
}

/// Stops letters by schedule for a customer, or lets them go out again. Letters by hand can always be written.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such customer.
pub fn stop_letters(tx: &mut Tx, doing: &Doing, id: CustomerId, stop: bool, reason: &str) -> Result<(), Failure> {
    let who = people::get(tx.conn(), id)?;
    let reason = reason.trim();
    let did = if stop {
        balances::stop(tx, &BalanceStop { customer_id: id, reason: reason.into(), stopped_at: doing.now.at })?
    } else {
        balances::go_on(tx, id)?
    };
    if !did {
        return Ok(());
    }
    let line = if stop {
        format!("{} gets no letters about balances by itself from now on", who.name)
    } else {
        format!("{} gets letters about balances by schedule again", who.name)
    };
    let line = Line { line, detail: reason.into(), customer: Some(id), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Writes the letters that are due by schedule, by mail only, from the morning on. Safe to run again. Returns how many.
///
/// # Errors
/// [`Failure::Refused`] when a wording cannot be filled.
pub fn remind_of_balances(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    let rule = in_force(tx.conn())?;
    let schedule = Schedule { friendly_after: rule.friendly_after, firm_after: rule.firm_after };
    if schedule == Schedule::default() || doing.now.at.utc().with_timezone(&doing.now.zone).hour() < MORNING {
        return Ok(0);
    }
    let today = doing.now.today;
    let mut open = invoices::open(tx.conn(), None, MOST)?;
    open.retain(|(i, who, _)| i.due_on.is_some_and(|day| day < today) && check_address(&who.mail).is_ok());
    let stops = balances::stops(tx.conn(), &open.iter().map(|(_, who, _)| who.id).collect::<Vec<_>>())?;
    let written = balances::letters(tx.conn(), &open.iter().map(|(i, ..)| i.id).collect::<Vec<_>>())?;
    let mut n = 0;
    for (invoice, who, _) in &open {
        if stops.contains_key(&who.id) {
            continue;
        }
        let before: Vec<_> = written.get(&invoice.id).into_iter().flatten().map(|l| (l.tone, l.written_on)).collect();
        if let Some(tone) = due(schedule, invoice.due_on, today, &before) {
            write(tx, doing, invoice.id, tone, false, true)?;
            n += 1;
        }
    }
    Ok(n)
}
