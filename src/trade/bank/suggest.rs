//! What a line of a statement may be: held against what the book waits for and what was recorded by hand, each with its reasons.
//!
//! It only suggests; a person confirms. The points order what is shown and are of our own making: a payment reference outweighs all
//! else, then numbers, checks, the amount, the name and the day.

use super::Entry;
use crate::trade::fold::fold;
use crate::trade::money::Money;
use crate::trade::reference::{self, Typed};
use chrono::NaiveDate;
use std::collections::HashSet;

/// The most suggestions for a line.
pub const MOST: usize = 5;
/// A payment may stand at the bank so many days before it was recorded as received.
const EARLY: i64 = 5;
/// And so many days after: a check lies in a drawer.
const LATE: i64 = 45;
/// So few days apart count for themselves.
const NEAR: i64 = 5;

/// What a candidate is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// A payment recorded already.
    Payment,
    /// A deposit slip.
    Slip,
    /// Money recorded as not yet matched.
    Unmatched,
    /// An invoice with something owed on it.
    Invoice,
    /// A deposit that is due.
    Deposit,
    /// Money given back, as recorded.
    Refund,
    /// Money given back that was not matched.
    GivenBack,
}

impl What {
    /// Whether it is in the book already and only has to be tied.
    pub const fn is_recorded(self) -> bool {
        !matches!(self, Self::Invoice | Self::Deposit)
    }
    /// Whether it is about money taken off the account.
    pub const fn takes_off(self) -> bool {
        matches!(self, Self::Refund | Self::GivenBack)
    }
}

/// Something of the book that a line may be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// What it is.
    pub what: What,
    /// Its number in the book.
    pub id: i64,
    /// Whose; empty where nobody's.
    pub name: String,
    /// What is owed, was received or was given back; more than nothing.
    pub amount: Money,
    /// When it was received, given back or taken to the bank; none for what is still to come.
    pub day: Option<NaiveDate>,
    /// The number of its order, from which the payment reference is made.
    pub order: Option<String>,
    /// The number of its invoice.
    pub invoice: Option<String>,
    /// The check's number or another reference; may be empty.
    pub check: String,
}

/// Why something is suggested.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// Its payment reference stands in the line.
    Reference(String),
    /// The number of its order or invoice does.
    Number(String),
    /// The check's number is the same.
    Check(String),
    /// The amount is the same.
    Amount,
    /// The name stands in the line.
    Name(String),
    /// They are so many days apart.
    Days(i64),
}

impl Reason {
    const fn points(&self) -> u32 {
        match self {
            Self::Reference(_) => 100,
            Self::Number(_) => 60,
            Self::Check(_) => 50,
            Self::Amount => 40,
            Self::Name(_) => 30,
            Self::Days(_) => 10,
        }
    }
    /// The reason as people read it.
    pub fn said(&self) -> String {
        match self {
            Self::Reference(r) => format!("payment reference {r}"),
            Self::Number(n) => format!("number {n}"),
            Self::Check(n) => format!("check or reference {n}"),
            Self::Amount => "same amount".into(),
            Self::Name(n) => format!("name {n}"),
            Self::Days(0) => "same day".into(),
            Self::Days(1) => "a day apart".into(),
            Self::Days(n) => format!("{n} days apart"),
        }
    }
}

/// A suggestion: which candidate, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// The place of the candidate in the list.
    pub at: usize,
    /// The reasons, the strongest first; at least one.
    pub reasons: Vec<Reason>,
}

/// The words of a line, looked through once.
struct Read {
    words: HashSet<String>,
    orders: HashSet<String>,
    text: String,
    check: String,
}

/// Groups of letters and figures.
fn groups(text: &str) -> Vec<&str> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|g| !g.is_empty()).collect()
}

/// A row of figures that is a day so near to the line's is that day, though it could be a payment reference without its dashes.
const A_DAY: i64 = 60;

/// The orders whose payment reference stands in a line's text, in any way people write it; `day` is the line's.
pub fn orders_in(text: &str, day: NaiveDate) -> HashSet<String> {
    let groups = groups(text);
    let is_day = |g: &str| {
        let read = if g.len() == 8 { NaiveDate::parse_from_str(g, "%Y%m%d").ok() } else { None };
        read.is_some_and(|on| (on - day).num_days().abs() <= A_DAY)
    };
    let alone = groups.iter().filter(|g| !is_day(g)).map(|g| (*g).to_string());
    let three = groups.windows(3).map(|w| w.join("-"));
    // "2027-031" and the check sign glued to what follows, or all but the year glued: two groups.
    let two = groups.windows(2).map(<[&str]>::concat);
    alone
        .chain(three)
        .chain(two.filter(|g| !is_day(g)))
        .filter_map(|g| if let Typed::Order(number) = reference::read(&g) { Some(number) } else { None })
        .collect()
}

impl Read {
    fn of(line: &Entry) -> Self {
        let both = format!("{} {}", line.words, line.reference);
        let folded = fold(&both);
        Self {
            words: groups(&folded).into_iter().map(String::from).collect(),
            orders: orders_in(&both, line.day),
            text: format!("-{}-", groups(&folded).join("-")),
            check: plain_check(&line.reference),
        }
    }
    /// Whether a number stands in the line as groups of its own.
    fn has_number(&self, number: &str) -> bool {
        self.text.contains(&format!("-{}-", groups(&number.to_ascii_lowercase()).join("-")))
    }
}

/// A check's number without zeros in front; short ones say nothing.
fn plain_check(text: &str) -> String {
    let text: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    let text = text.trim_start_matches('0').to_lowercase();
    if text.len() >= 3 { text } else { String::new() }
}

fn name_in(read: &Read, name: &str) -> Option<String> {
    let folded = fold(name);
    let words: Vec<&str> = groups(&folded);
    let (last, _) = words.split_last()?;
    if words.len() > 1 && words.iter().all(|w| read.words.contains(*w)) {
        return Some(name.to_string());
    }
    let long_enough = last.len() >= 4 && read.words.contains(*last);
    let shown = groups(name).last().map(|w| (*w).to_string());
    if long_enough { shown } else { None }
}

/// The references and numbers of a candidate that stand in the line.
fn numbers(read: &Read, c: &Candidate) -> Vec<Reason> {
    let mut out = Vec::new();
    match &c.order {
        Some(number) if read.orders.contains(number) => out.push(Reason::Reference(reference::of(number))),
        Some(number) if read.has_number(number) => out.push(Reason::Number(number.clone())),
        _ => {}
    }
    if let Some(number) = c.invoice.as_ref().filter(|n| read.has_number(n)) {
        out.push(Reason::Number(number.clone()));
    }
    out
}

/// All reasons; `out` are those of its numbers.
fn reasons(line: &Entry, read: &Read, c: &Candidate, mut out: Vec<Reason>) -> Vec<Reason> {
    let check = plain_check(&c.check);
    if !check.is_empty() && (read.check == check || read.words.contains(&check)) {
        out.push(Reason::Check(c.check.clone()));
    }
    if line.amount.cents().unsigned_abs() == c.amount.cents().unsigned_abs() {
        out.push(Reason::Amount);
    }
    if let Some(name) = name_in(read, &c.name) {
        out.push(Reason::Name(name));
    }
    if let Some(day) = c.day {
        let apart = (line.day - day).num_days().abs();
        if apart <= NEAR {
            out.push(Reason::Days(apart));
        }
    }
    out
}

/// What a line may be, the likeliest first, at most [`MOST`].
///
/// What is in the book already has to have the line's amount and a day near it. What is still to be paid has to have the amount, or a
/// number or reference that stands in the line.
pub fn suggest(line: &Entry, candidates: &[Candidate]) -> Vec<Suggestion> {
    let read = Read::of(line);
    let comes_in = line.amount.is_positive();
    let mut found: Vec<(u32, Suggestion)> = Vec::new();
    for (at, c) in candidates.iter().enumerate().filter(|(_, c)| c.what.takes_off() != comes_in) {
        // What costs little is asked first: there may be thousands of candidates.
        let same_amount = line.amount.cents().unsigned_abs() == c.amount.cents().unsigned_abs();
        let in_time = c.day.is_none_or(|day| (-EARLY..=LATE).contains(&(line.day - day).num_days()));
        if c.what.is_recorded() && !(same_amount && in_time) {
            continue;
        }
        let numbers = numbers(&read, c);
        if !same_amount && numbers.is_empty() {
            continue;
        }
        let reasons = reasons(line, &read, c, numbers);
        // What is recorded comes first among its equals: to book it again would count it twice.
        let points: u32 = reasons.iter().map(Reason::points).sum();
        let points = points.saturating_add(if c.what.is_recorded() { 25 } else { 0 });
        found.push((points, Suggestion { at, reasons }));
    }
    found.sort_by(|(a, x), (b, y)| b.cmp(a).then(x.at.cmp(&y.at)));
    found.truncate(MOST);
    found.into_iter().map(|(_, s)| s).collect()
}
