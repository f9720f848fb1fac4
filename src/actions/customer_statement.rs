//! A customer's statement in words, for the page and for the paper. Reads only.

use super::Failure;
use super::letterhead::{addressed, letterhead};
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::ids::CustomerId;
use crate::book::ledger::statement::{Change, statement};
use crate::book::{farm, people};
use crate::paper::parts::{Fact, Sum};
use crate::paper::statement::{Row, Statement};
use crate::trade::dates;
use crate::trade::ledger::{Account, Act};
use crate::trade::money::Money;
use chrono::NaiveDate;

/// What a change is called towards the customer. The farm's own notes stay out.
fn words(change: &Change) -> String {
    let of = |numbers: [(&str, &Option<String>); 2]| {
        numbers.into_iter().find_map(|(name, n)| n.as_ref().map(|n| format!("{name} {n}"))).unwrap_or_default()
    };
    let order = of([("order", &change.order), ("invoice", &change.invoice)]);
    let invoice = of([("invoice", &change.invoice), ("order", &change.order)]);
    let with = |says: &str, about: String| if about.is_empty() { says.to_string() } else { format!("{says}, {about}") };
    match change.kind {
        Act::Deposit => with("Deposit", order),
        Act::Payment => with("Payment, thank you", invoice),
        Act::Invoice => with("Invoice", invoice).replacen("Invoice, invoice", "Invoice", 1),
        Act::Void => with("Taken back in full", invoice),
        Act::PartCredit => with("Credit note", invoice),
        Act::WriteOff => with("Taken off", invoice),
        Act::Refund => with("Given back to you", order),
        Act::Cancel => with("Deposit kept, order cancelled", order),
        Act::Keep if change.amount.is_positive() => with("Deposit kept", order),
        Act::Keep => with("Kept deposit owed back to you", order),
        Act::Transfer => with("Share transferred, with its deposit", order),
        Act::Bounce => with("Payment returned by the bank, with any charge", invoice),
        // What was charged after the invoice has no other paper than this one.
        Act::Storage if !change.through.is_empty() => with(&change.through, invoice),
        Act::Interest if !change.through.is_empty() => with(&change.through, invoice),
        Act::Storage => with("Storage", invoice),
        Act::Interest => with("Interest", invoice),
        Act::Match => with("Payment, thank you", invoice),
        // The last two are about nobody who is known, and stand on no customer's statement.
        Act::UseCredit | Act::Carry | Act::Unmatched | Act::UnmatchedBack => with(change.kind.label(), invoice),
    }
}

/// The statement of a customer from one day through another.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such customer; [`Failure::Refused`] when the period ends before it begins.
pub fn customer_statement(
    c: &mut DbConn,
    now: Now,
    who: CustomerId,
    from: NaiveDate,
    to: NaiveDate,
) -> Result<Statement, Failure> {
    if to < from {
        return Err(Failure::refuse("to", "The last day lies before the first. Write them the other way round"));
    }
    let (farm, person) = (farm::get(c)?, people::get(c, who)?);
    let s = statement(c, who, from, to)?;
    let mut rows = vec![Row {
        day: dates::short(from, now.today),
        what: "Balance before".into(),
        billed: String::new(),
        paid: String::new(),
        balance: s.opening.shown(),
    }];
    for change in &s.changes {
        let side = |is_mine: bool, amount: Money| if is_mine { amount.shown() } else { String::new() };
        let billed = change.amount.is_positive();
        rows.push(Row {
            day: dates::short(change.day, now.today),
            what: words(change),
            billed: side(billed, change.amount),
            paid: side(!billed, change.amount.negated()),
            balance: change.balance.shown(),
        });
    }
    let mut notes = Vec::new();
    for (account, amount) in &s.made_of {
        let said = match account {
            Account::Receivable => format!("Owed on invoices: {}.", amount.dollars()),
            Account::Deposits => format!("Held as deposits for open orders: {}.", amount.negated().dollars()),
            Account::Refunds => format!("Owed back to you: {}.", amount.negated().dollars()),
            _ => format!("Standing to your credit: {}.", amount.negated().dollars()),
        };
        notes.push(said);
    }
    if s.closing.is_positive() {
        notes.push(crate::post::phrases::how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words));
    }
    let in_favor = s.closing.cents() < 0;
    Ok(Statement {
        layout: crate::paper::LAYOUT,
        made: now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        date: dates::full(now.today),
        to: addressed(&person),
        facts: vec![
            Fact { name: "From".into(), value: dates::full(from) },
            Fact { name: "Through".into(), value: dates::full(to) },
        ],
        rows,
        closing: Sum {
            name: if in_favor { "In your favor".into() } else { "Balance due".into() },
            amount: if in_favor { s.closing.negated() } else { s.closing },
        },
        notes,
    })
}
