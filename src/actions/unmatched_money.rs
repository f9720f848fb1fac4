//! Money that came in and nobody knows from whom: recorded, matched to a customer later, or given back.
//!
//! Matching is an ordinary deposit or payment with its receipt; only where the money comes from is another account.

use super::make_receipt::method_words;
use super::record_deposit::{MoneyIn, Source, deposit_from};
use super::record_payment::{Payer, PutTo, payment_from};
use super::{Doing, Failure};
use crate::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId, UnmatchedId};
use crate::book::rows::bank::{NewUnmatched, Unmatched};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{invoices, ledger, unmatched};
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use chrono::NaiveDate;

/// Records money whose payer is not known. `payer` is what is known: words of the bank, a name that says nothing.
///
/// # Errors
/// [`Failure::Refused`] when the money cannot be.
pub fn record_unmatched(tx: &mut Tx, doing: &Doing, money: &MoneyIn, payer: &str) -> Result<UnmatchedId, Failure> {
    money.check(doing.now.today)?;
    let mut posting = doing.posting_of_nobody(Act::Unmatched, money.received_on).note(payer);
    let new = NewUnmatched {
        method: money.method,
        amount: money.amount,
        received_on: money.received_on,
        payer: payer.to_string(),
        reference: money.reference.clone(),
        note: money.note.clone(),
        recorded_at: doing.now.at,
    };
    let id = unmatched::insert(tx, &mut posting, &new)?;
    ledger::post(tx, posting)?;
    let line = format!("{} came in and is not yet matched", money.amount.dollars());
    let how = method_words(money.method, &money.reference);
    let detail = if payer.is_empty() { how } else { format!("{how}: {payer}") };
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, ..Line::default() })?;
    Ok(id)
}

/// What the money turned out to be for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MatchTo {
    /// The deposit of an order.
    Order(ReservationId),
    /// A customer: parts for invoices, the rest is credit.
    Customer(CustomerId, Vec<PutTo>),
}

/// What somebody chose on a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ForWhat {
    /// An invoice: all of it, or what is owed; the rest is the customer's credit.
    Invoice(InvoiceId),
    /// The deposit of an order.
    Order(ReservationId),
    /// Credit of a customer.
    Customer(CustomerId),
}

/// What an amount is put to by that choice.
///
/// # Errors
/// [`Failure::Refused`] when nothing more is owed on the invoice.
pub fn match_to(tx: &mut Tx, what: ForWhat, amount: Money) -> Result<MatchTo, Failure> {
    let id = match what {
        ForWhat::Order(id) => return Ok(MatchTo::Order(id)),
        ForWhat::Customer(id) => return Ok(MatchTo::Customer(id, Vec::new())),
        ForWhat::Invoice(id) => id,
    };
    let (invoice, who, voided) = invoices::get(tx.conn(), id)?;
    let paid = invoices::paid(tx.conn(), &[id])?.get(&id).copied().unwrap_or_default();
    let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
    if voided.is_some() || !owed.is_positive() {
        let says = format!("Nothing more is owed on invoice {}. Choose something else.", invoice.number);
        return Err(Failure::refuse("for_what", says));
    }
    Ok(MatchTo::Customer(who.id, vec![(id, owed.min(amount))]))
}

fn waiting(tx: &mut Tx, id: UnmatchedId) -> Result<Unmatched, Failure> {
    let row = unmatched::get(tx.conn(), id)?;
    if row.waits() {
        return Ok(row);
    }
    let what = if row.payment_id.is_some() { "matched" } else { "given back" };
    Err(Failure::refuse("", format!("This money was {what} already. Nothing was changed.")))
}

/// Matches it: it becomes an ordinary payment with a receipt, which `tell` sends.
///
/// # Errors
/// [`Failure::Refused`] when it was matched or given back before, or as for a deposit or payment.
pub fn match_money(
    tx: &mut Tx,
    doing: &Doing,
    id: UnmatchedId,
    to: &MatchTo,
    tell: bool,
) -> Result<PaymentId, Failure> {
    let row = waiting(tx, id)?;
    let money = MoneyIn {
        method: row.method,
        amount: row.amount,
        received_on: row.received_on,
        reference: row.reference,
        note: row.note,
    };
    let source = Source::NotMatched(id);
    match to {
        MatchTo::Order(order) => Ok(deposit_from(tx, doing, source, *order, &money, tell)?.0),
        MatchTo::Customer(who, parts) => {
            Ok(payment_from(tx, doing, source, &Payer { who: *who, money: &money, parts }, true, tell)?.0)
        }
    }
}

/// How it went back.
#[derive(Debug, Clone)]
pub struct GivenBack {
    /// How.
    pub method: PayMethod,
    /// The day.
    pub day: NaiveDate,
    /// To whom, or why; may be empty.
    pub words: String,
}

/// Records that all of it was given back without having been matched.
///
/// # Errors
/// [`Failure::Refused`] when it was matched or given back before, or the day cannot be.
pub fn give_back_unmatched(tx: &mut Tx, doing: &Doing, id: UnmatchedId, input: &GivenBack) -> Result<(), Failure> {
    let row = waiting(tx, id)?;
    if input.day > doing.now.today || input.day < row.received_on {
        return Err(Failure::refuse("day", "Write the day it went back: not before it came in, not after today"));
    }
    let mut posting = doing.posting_of_nobody(Act::UnmatchedBack, input.day).note(input.words.clone());
    if !unmatched::give_back(tx, &mut posting, id, input.method, input.day, &input.words)? {
        return Err(Failure::Stale);
    }
    ledger::post(tx, posting)?;
    let line = format!("{} that was not matched was given back", row.amount.dollars());
    let how = input.method.label().to_lowercase();
    let detail = if input.words.is_empty() { how } else { format!("{how}: {}", input.words) };
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, ..Line::default() })?;
    Ok(())
}
