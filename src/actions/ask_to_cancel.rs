//! A customer's wish to cancel, by private link: asked, taken back, or answered by the farmer.
//!
//! What becomes of the deposit is said before the customer asks, in the farm's own words; what was said is kept with the wish. Cancelling
//! itself is [`super::cancel_reservation`]: it answers an open wish and tells the customer.

use super::message_values::order_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::rows::farm::Farm;
use crate::book::rows::links::NewCancelRequest;
use crate::book::rows::selling::Reservation;
use crate::book::standing::{self, Facts};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{cancel_requests, farm, reservations};
use crate::post::wording::Purpose;
use crate::trade::money::Money;
use crate::trade::vocabulary::CancelAnswer;

/// What becomes of the deposit, said before anything is asked.
pub fn deposit_words(farm: &Farm, held: Money) -> String {
    let policy = farm.deposit_policy.trim();
    match (held.is_positive(), policy.is_empty()) {
        (false, _) => "We hold no deposit of yours, so none is kept or given back.".into(),
        (true, false) => format!("We hold your deposit of {}. What we agreed on deposits: {policy}", held.dollars()),
        (true, true) => format!(
            "We hold your deposit of {}. We tell you whether it is given back or kept before anything is canceled.",
            held.dollars()
        ),
    }
}

/// Why a customer cannot ask to cancel this order, as a sentence to the customer; `None` when it can be asked.
pub fn why_not(r: &Reservation, facts: &Facts) -> Option<String> {
    if r.cancelled_at.is_some() {
        Some("This order is canceled already.".into())
    } else if facts.invoice.is_some() {
        Some("Your order is invoiced, so it cannot be canceled here any more. Please call us.".into())
    } else if facts.weigh_in.is_some() {
        Some("Your share is on the rail already, so it cannot be canceled here any more. Please call us.".into())
    } else {
        None
    }
}

/// Asks.
///
/// # Errors
/// [`Failure::Refused`] when it is too late, or a wish waits already.
pub fn ask_to_cancel(tx: &mut Tx, doing: &Doing, order: ReservationId, reason: &str) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let facts = standing::facts(tx.conn(), &[&r])?.remove(&order).unwrap_or_default();
    if let Some(why) = why_not(&r, &facts) {
        return Err(Failure::refuse("", why));
    }
    if cancel_requests::open_of(tx.conn(), order)?.is_some() {
        return Err(Failure::refuse("", "You asked already, and we answer you. Nothing was added."));
    }
    let words = deposit_words(&farm::get(tx.conn())?, facts.held);
    let new = NewCancelRequest {
        reservation_id: order,
        reason: reason.to_string(),
        deposit_words: words.clone(),
        asked_at: doing.now.at,
    };
    cancel_requests::insert(tx, &new)?;
    tell(tx, doing, order, "The customer asked to cancel", format!("“{reason}” They were told: {words}"))
}

/// Takes the wish back.
///
/// # Errors
/// [`Failure::Refused`] when none waits.
pub fn take_back(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    if !cancel_requests::close(tx, order, CancelAnswer::Withdrawn, "", doing.now.at)? {
        return Err(Failure::refuse("", "Your wish was answered meanwhile. See how the order stands."));
    }
    tell(tx, doing, order, "The customer keeps the order after all", String::new())
}

/// The farmer answers that the order stays, and the customer is told.
///
/// # Errors
/// [`Failure::Refused`] when no wish waits.
pub fn answer_it_stays(tx: &mut Tx, doing: &Doing, order: ReservationId, words: &str) -> Result<(), Failure> {
    if !cancel_requests::close(tx, order, CancelAnswer::Stays, words, doing.now.at)? {
        return Err(Failure::refuse("", "The customer took the wish back meanwhile. Nothing was sent."));
    }
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let values = order_values(tx.conn(), order)?.with("answer", words);
    let say = ToSay {
        customer: r.customer_id,
        reservation: Some(order),
        purpose: Purpose::CancelStays,
        values,
        attachment: None,
    };
    queue_message(tx, doing, &say)?;
    tell(tx, doing, order, "The wish to cancel was answered: the order stays", words.to_string())
}

/// The order was cancelled: an open wish is answered by that, and its customer is told what became of the deposit.
///
/// # Errors
/// The database's own, or a message that cannot be written.
pub(super) fn answer_cancelled(tx: &mut Tx, doing: &Doing, order: ReservationId, outcome: &str) -> Result<(), Failure> {
    if !cancel_requests::close(tx, order, CancelAnswer::Cancelled, outcome, doing.now.at)? {
        return Ok(());
    }
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let values = order_values(tx.conn(), order)?.with("deposit_outcome", outcome);
    let say = ToSay {
        customer: r.customer_id,
        reservation: Some(order),
        purpose: Purpose::OrderCancelled,
        values,
        attachment: None,
    };
    queue_message(tx, doing, &say)?;
    Ok(())
}

fn tell(tx: &mut Tx, doing: &Doing, order: ReservationId, line: &str, detail: String) -> Result<(), Failure> {
    let (_, customer, _) = reservations::get(tx.conn(), order)?;
    let told =
        Line { line: line.into(), detail, customer: Some(customer.id), reservation: Some(order), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}
