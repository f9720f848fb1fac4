//! Meat that is not ready after all: taken back until it is collected, a chosen window given up, and the customer told.

use super::pickup_event::cancel_with;
use super::pickup_words::{pickup_values, window_words};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::pickups;
use crate::book::reservations;
use crate::book::rows::pickups::PickupChoice;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::wording::Purpose;

/// Takes it back. An order that is not said to be ready stays so, and nobody is told anything. When it is ready again, say so: the
/// notice then goes once more.
///
/// # Errors
/// [`Failure::Refused`] when it was collected, or storage was charged for it.
pub fn take_ready_back(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let before = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    if r.collected_at.is_some() {
        let says = "It was collected, so it was ready. Take the tick back first, if that was the mistake.";
        return Err(Failure::refuse("", says));
    }
    if before.ready.is_none() {
        return Ok(());
    }
    if before.charged.is_positive() {
        let says = format!(
            "Storage of {} was charged for it since it was ready, so that stays. Tell the customer yourself.",
            before.charged.dollars()
        );
        return Err(Failure::refuse("", says));
    }
    let times = before.choice.as_ref().map_or(0, |c| c.times).saturating_add(1);
    if before.choice.is_some() {
        let none = PickupChoice {
            reservation_id: order,
            window_id: None,
            chosen_at: doing.now.at,
            chosen_by: doing.actor.clone(),
            times,
        };
        pickups::set_choice(tx, &none)?;
    }
    pickups::take_ready_back(tx, order)?;
    pickups::close_note(tx, order, doing.now.at)?;
    let window = before.window.as_ref().map(|(w, _)| window_words(w));
    let given_up = window.as_ref().map(|w| format!("Please do not come on {w}: that pickup is off."));
    let after = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let values = pickup_values(tx.conn(), doing.now, order, &after)?
        .with("pickup_off", given_up.unwrap_or_else(|| "Please do not come for it yet.".into()));
    let (customer, reservation, purpose) = (r.customer_id, Some(order), Purpose::PickupNotYet);
    let message = queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
    if let Some(was) = &before.window {
        cancel_with(tx, doing, message, order, was, times)?;
    }
    let line = Line {
        line: "Not ready after all: taken back, and the customer is told".into(),
        detail: window.map_or(String::new(), |w| format!("The pickup of {w} is off.")),
        customer: Some(customer),
        reservation,
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
