//! The deposit of a cancelled order: keeping it by the policy the customer agreed to, or setting it free again.

use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::rows::people::Customer;
use crate::book::rows::selling::Reservation;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{ledger, reservations};
use crate::trade::ledger::{Act, What};
use crate::trade::money::Money;
use crate::trade::vocabulary::DepositFate;

fn cancelled(tx: &mut Tx, id: ReservationId, reason: &str) -> Result<(Reservation, Customer), Failure> {
    let (r, customer, _) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_none() {
        return Err(Failure::refuse("", "This order is open: its deposit is the customer’s. Cancel the order first."));
    }
    if reason.trim().is_empty() {
        return Err(Failure::refuse("reason", "Write why; it stands in the order’s story"));
    }
    Ok((r, customer))
}

fn done(
    tx: &mut Tx,
    doing: &Doing,
    mut r: Reservation,
    version: i64,
    fate: DepositFate,
    (line, reason): (String, &str),
) -> Result<(), Failure> {
    r.cancel_deposit = Some(fate);
    if !reservations::save(tx, &r, version)? {
        return Err(Failure::Stale);
    }
    let detail = format!("{}.", reason.trim().trim_end_matches('.'));
    let line = Line { line, detail, customer: Some(r.customer_id), reservation: Some(r.id), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Keeps money that stands to the customer's credit as the deposit of a cancelled order: it is the farm's from now on.
///
/// # Errors
/// [`Failure::Refused`] when the order is not cancelled, there is less credit, or no reason is given; [`Failure::Stale`].
pub fn keep_deposit(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    version: i64,
    amount: Money,
    reason: &str,
) -> Result<(), Failure> {
    let (r, customer) = cancelled(tx, id, reason)?;
    let there = payments::credit(tx.conn(), customer.id)?;
    if !amount.is_positive() || amount > there {
        return Err(Failure::refuse(
            "amount",
            format!("{} stands to their credit. Keep at most that", there.dollars()),
        ));
    }
    let mut posting = doing.posting(Act::Keep, doing.now.today, customer.id).order(id).note(reason.trim());
    payments::put_credit(tx, &mut posting, customer.id, For::Order(id), amount, doing.now.at)?;
    ledger::post(tx, posting)?;
    done(tx, doing, r, version, DepositFate::Keep, (format!("{} of the deposit kept", amount.dollars()), reason))
}

/// Sets kept money free again: it is owed back to the customer.
///
/// # Errors
/// [`Failure::Refused`] when the order is not cancelled, less is kept, or no reason is given; [`Failure::Stale`].
pub fn release_deposit(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    version: i64,
    amount: Money,
    reason: &str,
) -> Result<(), Failure> {
    let (r, customer) = cancelled(tx, id, reason)?;
    let kept = Money::sum(payments::held(tx.conn(), For::Order(id))?.iter().map(|h| h.amount))?;
    if !amount.is_positive() || amount > kept {
        return Err(Failure::refuse("amount", format!("{} is kept. Set free at most that", kept.dollars())));
    }
    let mut posting = doing.posting(Act::Keep, doing.now.today, customer.id).order(id).note(reason.trim());
    payments::move_part(tx, &mut posting, For::Order(id), None, amount, doing.now.at)?;
    posting.step(customer.id, What::Promised(amount));
    ledger::post(tx, posting)?;
    let fate = if amount == kept { DepositFate::Refund } else { DepositFate::Keep };
    let line = format!("{} of the kept deposit is owed back after all", amount.dollars());
    done(tx, doing, r, version, fate, (line, reason))
}
