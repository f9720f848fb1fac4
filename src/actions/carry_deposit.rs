//! Carrying a deposit, or a part of it, over to another open order of the same customer.

use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{ledger, placements, reservations};
use crate::trade::ledger::Act;
use crate::trade::money::Money;

/// Moves held money from one order to another.
///
/// # Errors
/// [`Failure::Refused`] when either is cancelled or invoiced, the other is not of this customer, or less is held.
pub fn carry_deposit(
    tx: &mut Tx,
    doing: &Doing,
    from: ReservationId,
    to: ReservationId,
    amount: Money,
) -> Result<(), Failure> {
    let (r, customer, _) = reservations::get(tx.conn(), from)?;
    let (other, ..) = reservations::get(tx.conn(), to)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled; nothing is held for it any more."));
    }
    if !placements::invoiced(tx.conn(), &[from])?.is_empty() {
        return Err(Failure::refuse("", "This order is invoiced; its deposit went to the invoice."));
    }
    if other.customer_id != customer.id
        || other.cancelled_at.is_some()
        || from == to
        || !placements::invoiced(tx.conn(), &[to])?.is_empty()
    {
        return Err(Failure::refuse("to", "Choose another open order of the same customer that is not invoiced yet"));
    }
    let held = Money::sum(payments::held(tx.conn(), For::Order(from))?.iter().map(|h| h.amount))?;
    if !amount.is_positive() || amount > held {
        return Err(Failure::refuse("amount", format!("{} is held. Carry over at most that", held.dollars())));
    }
    let mut posting =
        doing.posting(Act::Carry, doing.now.today, customer.id).order(from).note(format!("to order {}", other.number));
    payments::move_part(tx, &mut posting, For::Order(from), Some(For::Order(to)), amount, doing.now.at)?;
    ledger::post(tx, posting)?;
    for (order, line) in [
        (from, format!("{} of the deposit carried over to order {}", amount.dollars(), other.number)),
        (to, format!("{} of deposit carried over from order {}", amount.dollars(), r.number)),
    ] {
        let line = Line { line, customer: Some(customer.id), reservation: Some(order), ..Line::default() };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}
