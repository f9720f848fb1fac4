//! Storage of meat that nobody collected: what it comes to by the rule said with the ready notice, and charging it.
//!
//! Nothing is charged by itself. Before the invoice it becomes a line of the order; on an issued invoice it is added to what is
//! owed, with its posting in the ledger, as a charge for a returned check is. Tax on it is for the farm's tax adviser to say.

use super::{Doing, Failure};
use crate::book::at::Now;
use crate::book::ids::ReservationId;
use crate::book::pickups::{self, Pickup};
use crate::book::rows::ledger::NewInvoiceChange;
use crate::book::rows::pickups::NewStorageCharge;
use crate::book::rows::selling::Reservation;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{invoices, ledger, reservations, standing};
use crate::trade::dates;
use crate::trade::ledger::{Act, ChangeKind};
use crate::trade::money::{Money, Percent};
use crate::trade::pickup::Storage;
use chrono::NaiveDate;

/// Storage that can be charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proposed {
    /// The rule that was said.
    pub storage: Storage,
    /// The day the meat was said to be ready.
    pub ready_on: NaiveDate,
    /// The day up to which it is reckoned: when it was collected, else today.
    pub through: NaiveDate,
    /// Days or weeks begun after the free ones.
    pub begun: i64,
    /// What it comes to in all.
    pub whole: Money,
    /// What was charged already.
    pub charged: Money,
    /// What is left to charge.
    pub amount: Money,
}

/// What storage of an order could be charged now; none when there is nothing.
///
/// # Errors
/// [`Failure::Refused`] when it is more than can be recorded.
pub fn proposed(r: &Reservation, p: &Pickup, now: Now) -> Result<Option<Proposed>, Failure> {
    let Some(ready) = p.ready.as_ref().filter(|_| r.cancelled_at.is_none()) else { return Ok(None) };
    let storage = ready.storage();
    let through = r.collected_at.map_or(now.today, |at| at.day(now.zone));
    let whole = storage.due(ready.ready_on, through)?;
    let amount = whole.minus(p.charged)?;
    let begun = storage.begun(ready.ready_on, through);
    let all = Proposed { storage, ready_on: ready.ready_on, through, begun, whole, charged: p.charged, amount };
    Ok(amount.is_positive().then_some(all))
}

/// Charges what the page showed.
///
/// # Errors
/// [`Failure::Refused`] when it comes to something else by now, or there is nothing to charge.
pub fn charge_storage(tx: &mut Tx, doing: &Doing, order: ReservationId, shown: Money) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let p = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let Some(now) = proposed(&r, &p, doing.now)? else {
        return Err(Failure::refuse("", "There is no storage to charge for this order."));
    };
    if now.amount != shown {
        let says = format!("It was {} when you looked and is {} now.", shown.dollars(), now.amount.dollars());
        return Err(Failure::refuse("", says));
    }
    let name = format!("Storage through {}", dates::full(now.through));
    let facts = standing::facts(tx.conn(), &[&r])?.remove(&order).unwrap_or_default();
    let (order_charge_id, change_id, on) = match &facts.invoice {
        None => {
            let line = reservations::add_line(tx, order, &name, now.amount, Percent::ZERO, doing.now.at)?;
            (Some(line), None, "It stands on the invoice to come.".to_string())
        }
        Some((invoice, _)) => {
            let mut posting = doing
                .posting(Act::Storage, doing.now.today, r.customer_id)
                .order(order)
                .invoice(invoice.id)
                .note(name.clone());
            let change = NewInvoiceChange {
                invoice_id: invoice.id,
                kind: ChangeKind::Charge,
                amount: now.amount,
                tax: Money::ZERO,
                made_on: doing.now.today,
                reason: name.clone(),
                number: None,
                document: None,
                made_at: doing.now.at,
            };
            let change = invoices::change(tx, &mut posting, &change)?;
            ledger::post(tx, posting)?;
            (None, Some(change), format!("It was added to invoice {}.", invoice.number))
        }
    };
    pickups::add_storage(
        tx,
        &NewStorageCharge {
            reservation_id: order,
            through_day: now.through,
            amount: now.amount,
            order_charge_id,
            change_id,
            made_at: doing.now.at,
        },
    )?;
    let line = Line {
        line: format!("{name}, {}", now.amount.dollars()),
        detail: on,
        customer: Some(r.customer_id),
        reservation: Some(order),
        invoice: facts.invoice.map(|(i, _)| i.id),
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
