//! Cancelling an order: why, and what becomes of its deposit.

use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{ledger, links, placements, reservations, waiting_offers};
use crate::trade::ledger::{Act, What};
use crate::trade::money::Money;
use crate::trade::share::sold_as;
use crate::trade::vocabulary::{DepositFate, OfferEnd};

/// What is to become of a cancelled order.
#[derive(Debug, Clone)]
pub struct Cancel {
    /// The version the form was opened with.
    pub version: i64,
    /// Why, in words.
    pub reason: String,
    /// What becomes of the deposit.
    pub fate: DepositFate,
    /// Where it is carried over to.
    pub carry_to: Option<ReservationId>,
}

/// Cancels an order and gives its place on the rail free. Its private links end with it; a customer who asked for it is told.
///
/// The deposit becomes the customer's credit (to be given back), stays with the cancelled order, or goes to another open order
/// of the same customer.
///
/// # Errors
/// [`Failure::Refused`] when it is cancelled or invoiced already, or the other order is not an open one of this customer;
/// [`Failure::Stale`] when somebody saved in between.
pub fn cancel_reservation(tx: &mut Tx, doing: &Doing, id: ReservationId, input: &Cancel) -> Result<(), Failure> {
    let (mut r, customer, o) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled already."));
    }
    if let Some(invoice) = placements::invoiced(tx.conn(), &[id])?.first() {
        return Err(Failure::refuse(
            "",
            format!("Invoice {} is issued. Void it first, then cancel the order.", invoice.number),
        ));
    }
    let held = Money::sum(payments::held(tx.conn(), For::Order(id))?.iter().map(|h| h.amount))?;
    let mut posting = doing.posting(Act::Cancel, doing.now.today, customer.id).order(id).note(input.reason.clone());
    let fate = if held.is_zero() { DepositFate::None } else { input.fate };
    let detail = match fate {
        DepositFate::None if held.is_positive() => {
            return Err(Failure::refuse("fate", format!("Say what becomes of the {} deposit", held.dollars())));
        }
        DepositFate::None => "No deposit was held.".to_string(),
        DepositFate::Keep => {
            // The money stays with the order; from now on it is the farm's.
            posting.step(customer.id, What::Held(id.0, held.negated()));
            posting.step(customer.id, What::Kept(id.0, held));
            format!("The deposit of {} is kept.", held.dollars())
        }
        DepositFate::Refund => {
            payments::move_all(tx, &mut posting, For::Order(id), None, doing.now.at)?;
            posting.step(customer.id, What::Promised(held));
            format!("The deposit of {} is owed back.", held.dollars())
        }
        DepositFate::Carry => {
            let to =
                input.carry_to.ok_or_else(|| Failure::refuse("carry_to", "Choose the order the deposit goes to"))?;
            let (other, ..) = reservations::get(tx.conn(), to)?;
            if other.customer_id != customer.id
                || other.cancelled_at.is_some()
                || to == id
                || !placements::invoiced(tx.conn(), &[to])?.is_empty()
            {
                return Err(Failure::refuse(
                    "carry_to",
                    "Choose another open order of the same customer that is not invoiced yet",
                ));
            }
            payments::move_all(tx, &mut posting, For::Order(id), Some(For::Order(to)), doing.now.at)?;
            let line = format!("Deposit of {} carried over from order {}", held.dollars(), r.number);
            stories::tell(
                tx,
                doing.now.at,
                &doing.actor,
                Line { line, customer: Some(customer.id), reservation: Some(to), ..Line::default() },
            )?;
            format!("The deposit of {} goes to order {}.", held.dollars(), other.number)
        }
    };
    ledger::post(tx, posting)?;
    placements::take_off(tx, id)?;
    links::revoke_all(tx, id, doing.now.at)?;
    let was_offered = waiting_offers::close(tx, id, OfferEnd::Withdrawn, doing.now.at)?;
    r.cancelled_at = Some(doing.now.at);
    r.cancel_reason = input.reason.clone();
    r.cancel_deposit = Some(fate);
    r.waiting_since = None;
    if !reservations::save(tx, &r, input.version)? {
        return Err(Failure::Stale);
    }
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("Order {} was cancelled, {}", r.number, sold_as(r.size, r.part, o.species).to_lowercase()),
            detail: format!("{}. {detail}", input.reason.trim_end_matches('.')),
            customer: Some(customer.id),
            reservation: Some(id),
            ..Line::default()
        },
    )?;
    super::ask_to_cancel::answer_cancelled(tx, doing, id, &detail)?;
    if was_offered {
        super::offer_share::offer_next(tx, doing, o.id)?;
    }
    Ok(())
}
