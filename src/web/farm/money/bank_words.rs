//! Lines of a bank and what they may be, in words; the one form that says what a line is.

use crate::book::ids::BankLineId;
use crate::book::rows::bank::{BankLine, BankTie};
use crate::trade::bank::suggest::{Candidate, Suggestion, What, suggest};
use crate::trade::bank::{Entry, TieKind};
use crate::trade::dates;
use crate::web::look::parts::Link;
use chrono::NaiveDate;

/// A suggestion with its button.
pub struct Offer {
    /// What the form does: `book` or `tie`.
    pub act: &'static str,
    /// The word of what.
    pub what: &'static str,
    /// Its number in the book.
    pub of: i64,
    /// The words of the button.
    pub button: String,
    /// Why it is suggested.
    pub why: String,
    /// Whether it books a payment, whose receipt can be sent.
    pub books: bool,
}

/// A line as a page shows it.
pub struct LineRow {
    /// The line.
    pub id: BankLineId,
    /// The day.
    pub day: String,
    /// "$150.00 came in".
    pub says: String,
    /// The bank's words.
    pub words: String,
    /// What it may be.
    pub offers: Vec<Offer>,
    /// Whether it came in.
    pub came_in: bool,
}

/// The line as the suggestions read it.
pub fn entry(line: &BankLine) -> Entry {
    Entry { day: line.day, amount: line.amount, words: line.words.clone(), reference: line.reference.clone(), id: None }
}

/// "$150.00 came in", "$12.40 went out".
pub fn says(line: &BankLine) -> String {
    if line.amount.is_positive() {
        format!("{} came in", line.amount.dollars())
    } else {
        format!("{} went out", line.amount.negated().dollars())
    }
}

/// The bank's words, with the check's number behind them.
pub fn words(line: &BankLine) -> String {
    match (line.words.is_empty(), line.reference.is_empty()) {
        (true, true) => "The bank says nothing about it.".into(),
        (false, true) => line.words.clone(),
        (true, false) => format!("Check or reference {}", line.reference),
        (false, false) => format!("{}, check or reference {}", line.words, line.reference),
    }
}

/// The word of a kind of candidate, as forms send it.
pub const fn word(what: What) -> &'static str {
    match what {
        What::Payment => "payment",
        What::Slip => "slip",
        What::Unmatched => "unmatched",
        What::Invoice => "invoice",
        What::Deposit => "order",
        What::Refund => "refund",
        What::GivenBack => "given_back",
    }
}

/// Reads such a word.
pub fn read_word(text: &str) -> Option<What> {
    let all = [What::Payment, What::Slip, What::Unmatched, What::Invoice, What::Deposit, What::Refund, What::GivenBack];
    all.into_iter().find(|w| word(*w) == text)
}

fn button(c: &Candidate, today: NaiveDate) -> String {
    let day = c.day.map(|d| dates::short(d, today)).unwrap_or_default();
    let number = |n: &Option<String>| n.clone().unwrap_or_default();
    match c.what {
        What::Invoice => format!("Book on invoice {} of {}", number(&c.invoice), c.name),
        What::Deposit => format!("Book as deposit of {} on order {}", c.name, number(&c.order)),
        What::Payment => format!("It is the payment of {}, {day}", c.name),
        What::Slip => format!("It is deposit slip {}, {day}", c.id),
        What::Unmatched => format!("It is the money of {day}, not matched"),
        What::Refund => format!("It is what went back to {}, {day}", c.name),
        What::GivenBack => format!("It is what went back on {day}, not matched"),
    }
}

fn offer(found: &Suggestion, all: &[Candidate], line: &BankLine, today: NaiveDate) -> Option<Offer> {
    let c = all.get(found.at)?;
    let mut why: Vec<String> = found.reasons.iter().map(crate::trade::bank::suggest::Reason::said).collect();
    if !c.what.is_recorded() && c.amount != line.amount {
        why.push(format!("{} {}", c.amount.dollars(), if c.what == What::Invoice { "is owed" } else { "is due" }));
    }
    Some(Offer {
        act: if c.what.is_recorded() { "tie" } else { "book" },
        what: word(c.what),
        of: c.id,
        button: button(c, today),
        why: why.join(", "),
        books: !c.what.is_recorded(),
    })
}

/// A line with what it may be.
pub fn row(line: &BankLine, candidates: &[Candidate], today: NaiveDate) -> LineRow {
    let found = suggest(&entry(line), candidates);
    LineRow {
        id: line.id,
        day: dates::short(line.day, today),
        says: says(line),
        words: words(line),
        offers: found.iter().filter_map(|s| offer(s, candidates, line, today)).collect(),
        came_in: line.amount.is_positive(),
    }
}

/// What a line is, with the page of it where there is one.
pub fn settled(tie: &BankTie, payer: Option<(crate::book::ids::CustomerId, String)>) -> (String, Option<Link>) {
    let name = payer.map(|(id, name)| Link::new(format!("/customers/{id}"), name));
    match tie.kind {
        TieKind::Payment => ("A payment of".into(), name),
        TieKind::Refund => ("Given back to, or returned by the bank:".into(), name),
        TieKind::Unmatched | TieKind::GivenBack => {
            let id = tie.unmatched_id.map(|id| id.0).unwrap_or_default();
            let what = if tie.kind == TieKind::Unmatched {
                "Money not matched when it came in"
            } else {
                "Money given back, not matched"
            };
            (String::new(), Some(Link::new(format!("/money/not-matched/{id}"), what)))
        }
        TieKind::Slip => {
            let id = tie.slip_id.map(|id| id.0).unwrap_or_default();
            (String::new(), Some(Link::new(format!("/money/slips/{id}"), format!("Deposit slip {id}"))))
        }
        TieKind::Aside => {
            let why = if tie.words.is_empty() { String::new() } else { format!(": {}", tie.words) };
            (format!("Set aside{why}"), None)
        }
    }
}
