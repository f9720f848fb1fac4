//! Recording a deposit: money in, held for one order, with a numbered receipt.

use super::make_receipt::{Part, make_receipt, method_words};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, message_values};
use crate::book::ids::{PaymentId, ReceiptId, ReservationId, UnmatchedId};
use crate::book::ledger::Posting;
use crate::book::payments::{self, For};
use crate::book::rows::money::NewPayment;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, ledger, placements, reservations};
use crate::post::wording::Purpose;
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::share::sold_as;
use crate::trade::vocabulary::{PaperKind, PayMethod, PaymentKind};
use chrono::NaiveDate;

/// Money as it came in.
#[derive(Debug, Clone)]
pub struct MoneyIn {
    /// How.
    pub method: PayMethod,
    /// How much; more than nothing.
    pub amount: Money,
    /// The day it came.
    pub received_on: NaiveDate,
    /// Check number and the like.
    pub reference: String,
    /// A note of the farmer's.
    pub note: String,
}

impl MoneyIn {
    /// Refuses what cannot be: nothing, or a day to come.
    ///
    /// # Errors
    /// [`Failure::Refused`] with the field.
    pub fn check(&self, today: NaiveDate) -> Result<(), Failure> {
        if !self.amount.is_positive() {
            return Err(Failure::refuse("amount", "Write how much came in, such as 400.00"));
        }
        if self.received_on > today {
            return Err(Failure::refuse("received_on", "That day is still to come. Write the day the money came in"));
        }
        Ok(())
    }
}

/// Where the money of a payment was before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// It comes in now.
    Outside,
    /// It came in before and was not matched to a customer.
    NotMatched(UnmatchedId),
}

impl Source {
    /// The act, and the day it counts for: what was not matched becomes the customer's today, whenever it came.
    pub(super) fn act(self, doing: &Doing, kind: Act, received_on: NaiveDate) -> (Act, NaiveDate) {
        match self {
            Self::Outside => (kind, received_on),
            Self::NotMatched(_) => (Act::Match, doing.now.today),
        }
    }
    pub(super) fn insert(self, tx: &mut Tx, posting: &mut Posting, new: &NewPayment) -> Result<PaymentId, Failure> {
        Ok(match self {
            Self::Outside => payments::insert(tx, posting, new)?,
            Self::NotMatched(id) => payments::insert_matched(tx, posting, id, new)?,
        })
    }
}

/// Records a deposit for an order and makes its receipt; with `tell` the receipt goes to the customer.
///
/// More than was asked stays with the order and is taken off the invoice; less shows what is missing.
///
/// # Errors
/// [`Failure::Refused`] when the order is cancelled or invoiced already, or the money cannot be.
pub fn record_deposit(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    money: &MoneyIn,
    tell: bool,
) -> Result<ReceiptId, Failure> {
    Ok(deposit_from(tx, doing, Source::Outside, id, money, tell)?.1)
}

/// The same, wherever the money was before; the payment, and its receipt.
pub(super) fn deposit_from(
    tx: &mut Tx,
    doing: &Doing,
    source: Source,
    id: ReservationId,
    money: &MoneyIn,
    tell: bool,
) -> Result<(PaymentId, ReceiptId), Failure> {
    money.check(doing.now.today)?;
    let (r, customer, o) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled. Record the money on the customer’s page instead."));
    }
    if let Some(invoice) = placements::invoiced(tx.conn(), &[id])?.first() {
        return Err(Failure::refuse(
            "",
            format!("Invoice {} is issued already. Record the money as a payment of it.", invoice.number),
        ));
    }
    let (act, day) = source.act(doing, Act::Deposit, money.received_on);
    let mut posting = doing.posting(act, day, customer.id).order(id);
    let payment = source.insert(
        tx,
        &mut posting,
        &NewPayment {
            customer_id: customer.id,
            kind: PaymentKind::Received,
            method: money.method,
            amount: money.amount,
            received_on: money.received_on,
            reference: money.reference.clone(),
            note: money.note.clone(),
            recorded_at: doing.now.at,
        },
    )?;
    payments::allocate(tx, &mut posting, payment, For::Order(id), money.amount, doing.now.at)?;
    ledger::post(tx, posting)?;
    let held = Money::sum(payments::held(tx.conn(), For::Order(id))?.iter().map(|h| h.amount))?;
    let missing = r.deposit_asked.minus(held)?;
    let farm = farm::get(tx.conn())?;
    let share = sold_as(r.size, r.part, o.species).to_lowercase();
    let mut notes = Vec::new();
    if missing.is_positive() {
        notes.push(format!("{} of the deposit of {} is still to come.", missing.dollars(), r.deposit_asked.dollars()));
    }
    notes.push(format!(
        "The price is locked at {}. What is held is taken off the invoice.",
        message_values::price_words(&r, farm.unit)
    ));
    if !farm.deposit_policy.is_empty() {
        notes.push(farm.deposit_policy.clone());
    }
    let part = Part { name: format!("Deposit on order {}, {share}, {}", r.number, o.season), amount: money.amount };
    let (receipt, number) = make_receipt(tx, doing, payment, &[part], notes)?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("Deposit of {} received", money.amount.dollars()),
            detail: format!(
                "{}. Receipt {number}.",
                crate::trade::dates::long(money.received_on, doing.now.today)
                    + ", "
                    + &method_words(money.method, &money.reference)
            ),
            customer: Some(customer.id),
            reservation: Some(id),
            ..Line::default()
        },
    )?;
    if tell {
        let values = message_values::order_values(tx.conn(), id)?
            .with("receipt", number)
            .with("amount", money.amount.dollars())
            .with("date", crate::trade::dates::long(money.received_on, doing.now.today))
            .with("method", method_words(money.method, &money.reference));
        let still = if missing.is_positive() { missing } else { Money::ZERO };
        let values = message_values::with_deposit(values, still, &farm);
        queue_message(
            tx,
            doing,
            &ToSay {
                customer: customer.id,
                reservation: Some(id),
                purpose: Purpose::DepositReceipt,
                values,
                attachment: Some((PaperKind::Receipt, receipt.0)),
            },
        )?;
    }
    Ok((payment, receipt))
}
