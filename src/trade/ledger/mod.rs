//! Double entry: what each step of an act does to the accounts.
//!
//! An act is a list of steps: money came in, was put to an order, an invoice was billed… Each step by itself is balanced, so an
//! act is balanced whatever it is made of; what goes in and out of an account again within one act is left out of its entry.
//! Debit is positive, credit negative. Customers, orders and invoices are the book's own numbers.

mod accounts;

pub use accounts::{Account, Act, ChangeKind, Class, PairKind};

use super::money::{Money, Overflow};
use super::share::Species;
use super::vocabulary::{BilledBy, LineKind, PayMethod};
use std::collections::BTreeMap;

/// A line of an issued invoice, as far as the books go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Billed {
    /// Share, charge or free line.
    pub kind: LineKind,
    /// Whom it is paid to; what the processor bills himself is none of our books.
    pub by: BilledBy,
    /// Amount without tax.
    pub amount: Money,
    /// Tax on it.
    pub tax: Money,
}

/// One step of an act. A minus turns a step that has one around.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// Money came in and is the customer's credit.
    Received(PayMethod, Money),
    /// Money came in and nobody knows from whom; the step has no customer.
    Unmatched(PayMethod, Money),
    /// Money of [`What::Unmatched`] turned out to be this customer's: it is credit now.
    Matched(Money),
    /// Money of [`What::Unmatched`] was given back; the step has no customer.
    UnmatchedBack(PayMethod, Money),
    /// Credit was paid out.
    GivenBack(PayMethod, Money),
    /// Money that had come in was taken back by the bank.
    Bounced(PayMethod, Money),
    /// Credit became another customer's.
    Sent(Money),
    /// Credit came from another customer.
    Got(Money),
    /// Credit was put to an open order.
    Held(i64, Money),
    /// Credit was put to a cancelled order: the farm keeps it.
    Kept(i64, Money),
    /// Credit was put to an invoice.
    Paid(i64, Money),
    /// Credit was promised back.
    Promised(Money),
    /// An invoice was issued over shares of a species; with `back` it was taken back.
    Invoiced {
        /// The invoice.
        invoice: i64,
        /// What was sold.
        species: Species,
        /// Its lines.
        lines: Vec<Billed>,
        /// Taken back.
        back: bool,
    },
    /// What an invoice's balance changed by.
    Changed {
        /// The invoice.
        invoice: i64,
        /// How.
        kind: ChangeKind,
        /// What was sold.
        species: Species,
        /// Added to what is owed; negative when taken off.
        amount: Money,
        /// What of it is tax.
        tax: Money,
    },
}

/// One step of an act, and whose money it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The customer; none while it is not known.
    pub customer: Option<i64>,
    /// What happened.
    pub what: What,
}

/// Where a line of an entry stands: the account, whose it is, and of which order or invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The account.
    pub account: Account,
    /// The customer; none of money that was not matched to one when it came in.
    pub customer: Option<i64>,
    /// The order, for deposits.
    pub order: Option<i64>,
    /// The invoice, for what is owed, earned and taxed.
    pub invoice: Option<i64>,
}

/// The lines of an entry: places and amounts, none of them zero, in the order of the accounts.
pub type Lines = Vec<(Place, Money)>;

/// The account that a line of an invoice is earned on; none for what the processor bills.
pub const fn earned_on(line: &Billed, species: Species) -> Option<Account> {
    match (line.by, line.kind) {
        (BilledBy::Processor, _) => None,
        (BilledBy::Farm, LineKind::Share) => Some(Account::of_sales(species)),
        (BilledBy::Farm, LineKind::Charge) => Some(Account::PlantCharges),
        (BilledBy::Farm, LineKind::Free) if line.amount.cents() < 0 => Some(Account::Discounts),
        (BilledBy::Farm, LineKind::Free) => Some(Account::FarmCharges),
    }
}

/// The lines of an act's entry; none when nothing is left of it. They add up to zero.
///
/// # Errors
/// [`Overflow`] when a line is larger than can be recorded.
pub fn lines(steps: &[Step]) -> Result<Lines, Overflow> {
    let mut all: BTreeMap<Place, Money> = BTreeMap::new();
    for step in steps {
        for (place, amount) in of_step(step)? {
            let sum = all.entry(place).or_default();
            *sum = sum.plus(amount)?;
        }
    }
    Ok(all.into_iter().filter(|(_, amount)| !amount.is_zero()).collect())
}

fn of_step(step: &Step) -> Result<Lines, Overflow> {
    let plain = |account| Place { account, customer: step.customer, order: None, invoice: None };
    let of_order = |account, order| Place { order: Some(order), ..plain(account) };
    let of_invoice = |account, invoice| Place { invoice: Some(invoice), ..plain(account) };
    let credit = plain(Account::Credit);
    let nobody = |account| Place { account, customer: None, order: None, invoice: None };
    let two = |debit: Place, other: Place, amount: Money| vec![(debit, amount), (other, amount.negated())];
    Ok(match &step.what {
        What::Received(how, amount) => two(plain(Account::of_money(*how)), credit, *amount),
        What::Unmatched(how, amount) => two(nobody(Account::of_money(*how)), nobody(Account::NotMatched), *amount),
        What::Matched(amount) => two(nobody(Account::NotMatched), credit, *amount),
        What::UnmatchedBack(how, amount) => two(nobody(Account::NotMatched), nobody(Account::of_money(*how)), *amount),
        What::GivenBack(how, amount) | What::Bounced(how, amount) => {
            two(credit, plain(Account::of_money(*how)), *amount)
        }
        // The two halves of one move; together they are balanced, and [`balanced`] says so.
        What::Sent(amount) => vec![(credit, *amount)],
        What::Got(amount) => vec![(credit, amount.negated())],
        What::Held(order, amount) => two(credit, of_order(Account::Deposits, *order), *amount),
        What::Kept(order, amount) => two(credit, of_order(Account::Forfeited, *order), *amount),
        What::Paid(invoice, amount) => two(credit, of_invoice(Account::Receivable, *invoice), *amount),
        What::Promised(amount) => two(credit, plain(Account::Refunds), *amount),
        What::Invoiced { invoice, species, lines, back } => {
            let turned = |m: Money| if *back { m.negated() } else { m };
            let mut out = Vec::new();
            for line in lines {
                let Some(account) = earned_on(line, *species) else { continue };
                let whole = turned(line.amount.plus(line.tax)?);
                out.push((of_invoice(Account::Receivable, *invoice), whole));
                out.push((of_invoice(account, *invoice), turned(line.amount).negated()));
                out.push((of_invoice(Account::Tax, *invoice), turned(line.tax).negated()));
            }
            out
        }
        What::Changed { invoice, kind, species, amount, tax } => {
            let account = match kind {
                ChangeKind::WriteOff => Account::WriteOffs,
                ChangeKind::Credit => Account::of_sales(*species),
                ChangeKind::Charge => Account::FarmCharges,
            };
            vec![
                (of_invoice(Account::Receivable, *invoice), *amount),
                (of_invoice(account, *invoice), amount.minus(*tax)?.negated()),
                (of_invoice(Account::Tax, *invoice), tax.negated()),
            ]
        }
    })
}

/// Whether lines add up to zero.
pub fn balanced(lines: &Lines) -> bool {
    lines.iter().map(|(_, amount)| i128::from(amount.cents())).sum::<i128>() == 0
}

/// How much of what was promised back to a customer an act draws on: what is given back comes from there first, and credit
/// that is put to use comes from there when nothing else is left. Both balances as what the customer has, not negative.
///
/// # Errors
/// [`Overflow`] when a sum is larger than can be recorded.
pub fn drawn(steps: &[Step], customer: i64, credit: Money, promised: Money) -> Result<Money, Overflow> {
    let mine: Vec<Step> = steps.iter().filter(|s| s.customer == Some(customer)).cloned().collect();
    let mut given = Money::ZERO;
    let mut after = credit;
    for (place, amount) in mine.iter().map(of_step).collect::<Result<Vec<_>, _>>()?.into_iter().flatten() {
        if place.account == Account::Credit {
            after = after.minus(amount)?;
        }
    }
    for step in &mine {
        if let What::GivenBack(_, amount) = step.what {
            given = given.plus(amount)?;
        }
    }
    // What the act itself set free, such as a deposit that is given back at once, is not taken from the promise.
    let net = credit.minus(after)?.max(Money::ZERO);
    let first = given.min(net).min(promised);
    let lacking = after.plus(first)?.negated();
    Ok(first.plus(lacking.max(Money::ZERO))?.min(promised))
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
