//! A share goes to another customer: with its deposit, or without.

use super::{Doing, Failure};
use crate::book::ids::{CustomerId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::rows::money::NewPayment;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{ledger, links, people, placements, reservations};
use crate::trade::ledger::{Act, What};
use crate::trade::money::Money;
use crate::trade::vocabulary::{PayMethod, PaymentKind};

/// Makes an order another customer's; price, place and cut sheet stay. With `with_deposit` what is held goes along; without,
/// it is owed back to the one who paid it.
///
/// # Errors
/// [`Failure::Refused`] when the order is cancelled, invoiced or waits, or is this customer's already; [`Failure::Stale`].
pub fn transfer_share(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    version: i64,
    to: CustomerId,
    with_deposit: bool,
) -> Result<(), Failure> {
    let (mut r, from, _) = reservations::get(tx.conn(), id)?;
    let taker = people::get(tx.conn(), to)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled; there is no share to go to somebody else."));
    }
    if r.waiting_since.is_some() {
        return Err(Failure::refuse(
            "",
            "This order is on the waiting list, where everybody has a place of their own. Cancel it instead.",
        ));
    }
    if let Some(invoice) = placements::invoiced(tx.conn(), &[id])?.first() {
        return Err(Failure::refuse(
            "",
            format!("Invoice {} is issued to {}. Void it first.", invoice.number, from.name),
        ));
    }
    if from.id == to {
        return Err(Failure::refuse("to", "Choose another customer; the share is theirs already"));
    }
    let mut posting =
        doing.posting(Act::Transfer, doing.now.today, from.id).order(id).note(format!("to {}", taker.name));
    let moved = Money::sum(payments::move_all(tx, &mut posting, For::Order(id), None, doing.now.at)?)?;
    // Who had a private link to the order sees it no more.
    links::revoke_all(tx, id, doing.now.at)?;
    r.customer_id = to;
    if !reservations::save(tx, &r, version)? {
        return Err(Failure::Stale);
    }
    let deposit = if !moved.is_positive() {
        "No deposit was held.".to_string()
    } else if with_deposit {
        let received = NewPayment {
            customer_id: to,
            kind: PaymentKind::Received,
            method: PayMethod::Other,
            amount: moved,
            received_on: doing.now.today,
            reference: format!("(over from {} to {})", from.name, taker.name),
            note: format!("Deposit of order {}, over from {} to {}", r.number, from.name, taker.name),
            recorded_at: doing.now.at,
        };
        let payment = payments::insert_moved(tx, &mut posting, from.id, &received)?;
        payments::allocate(tx, &mut posting, payment, For::Order(id), moved, doing.now.at)?;
        format!("The deposit of {} goes along.", moved.dollars())
    } else {
        posting.step(from.id, What::Promised(moved));
        format!("The deposit of {} is owed back to {}.", moved.dollars(), from.name)
    };
    ledger::post(tx, posting)?;
    // In the order's story once, and in that of each of the two.
    for (customer, reservation) in [(from.id, Some(id)), (to, None)] {
        let line = Line {
            line: format!("Order {} went from {} to {}", r.number, from.name, taker.name),
            detail: deposit.clone(),
            customer: Some(customer),
            reservation,
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}
