//! Choosing a window to collect an order's meat, and saying that none fits.
//!
//! A window never takes more customers than it is for: the last place is given in one transaction of the write lane.

use super::pickup_event::publish_with;
use super::pickup_rules::in_force;
use super::pickup_words::{is_open, pickup_values, place_line, window_words};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::{PickupWindowId, ReservationId};
use crate::book::pickups::{self, Pickup};
use crate::book::rows::pickups::{NewPickupNote, PickupChoice};
use crate::book::rows::selling::Reservation;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{pickup_places, reservations, standing};
use crate::post::wording::Purpose;

/// The longest note of a customer, in characters.
pub const LONGEST_NOTE: usize = 600;

/// Who chooses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chooser {
    /// The customer, until some hours before.
    Customer,
    /// The farmer for the customer, at any time.
    Farmer,
}

fn awaited(tx: &mut Tx, order: ReservationId) -> Result<(Reservation, Pickup), Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let p = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order was canceled, so nothing is collected."));
    }
    if r.collected_at.is_some() {
        return Err(Failure::refuse("", "It was collected already."));
    }
    if p.ready.is_none() {
        return Err(Failure::refuse("", "It is not ready yet. A window can be chosen as soon as it is."));
    }
    Ok((r, p))
}

/// Gives an order a window; whoever had another one leaves it. Choosing the same one again does nothing.
///
/// # Errors
/// [`Failure::Refused`] when it is not ready, the window is full, called off, of another date, or it is too late for the customer.
pub fn choose(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    window: PickupWindowId,
    who: Chooser,
) -> Result<(), Failure> {
    let (r, before) = awaited(tx, order)?;
    if before.window.as_ref().is_some_and(|(w, _)| w.id == window) {
        return Ok(());
    }
    let gone = || Failure::refuse("window", "That window is not there any more. Choose one of the list.");
    let wanted = match pickup_places::window(tx.conn(), window) {
        Err(diesel::result::Error::NotFound) => return Err(gone()),
        other => other?,
    };
    let date = standing::facts(tx.conn(), &[&r])?.remove(&order).and_then(|f| f.date).map(|(id, _)| id);
    if wanted.window.cancelled_at.is_some() || date != Some(wanted.window.date_id) {
        return Err(gone());
    }
    let rule = in_force(tx.conn())?;
    if who == Chooser::Customer {
        if before.window.as_ref().is_some_and(|(w, _)| !is_open(w, &rule, doing.now)) {
            let says = "Your window is too near to be changed here. Call us.";
            return Err(Failure::refuse("window", says));
        }
        if !is_open(&wanted.window, &rule, doing.now) {
            let says = "That window is too near to be chosen here. Choose a later one, or call us.";
            return Err(Failure::refuse("window", says));
        }
    }
    if wanted.left() <= 0 {
        return Err(Failure::refuse("window", "That window is full by now. Choose another one."));
    }
    let choice = PickupChoice {
        reservation_id: order,
        window_id: Some(window),
        chosen_at: doing.now.at,
        chosen_by: doing.actor.clone(),
        times: before.choice.as_ref().map_or(0, |c| c.times.saturating_add(1)),
    };
    pickups::set_choice(tx, &choice)?;
    pickups::close_note(tx, order, doing.now.at)?;
    let after = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let values = pickup_values(tx.conn(), doing.now, order, &after)?;
    let (customer, reservation) = (r.customer_id, Some(order));
    let purpose = Purpose::PickupChosen;
    let message = queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
    publish_with(tx, doing, message, order, &after)?;
    let was = before.window.map_or(String::new(), |(w, _)| format!(" It was {}.", window_words(&w)));
    let line = Line {
        line: format!("Pickup chosen: {}", window_words(&wanted.window)),
        detail: format!("{}.{was}", place_line(&wanted.place)),
        reservation,
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Writes down that no window fits; it waits for the farmer. A second note replaces the first.
///
/// # Errors
/// [`Failure::Refused`] when it is not ready, or nothing is said.
pub fn none_fits(tx: &mut Tx, doing: &Doing, order: ReservationId, words: &str) -> Result<(), Failure> {
    awaited(tx, order)?;
    let words = words.trim();
    if words.is_empty() {
        return Err(Failure::refuse("words", "Write when you could come."));
    }
    let note = NewPickupNote { reservation_id: order, words: words.to_string(), asked_at: doing.now.at };
    pickups::add_note(tx, &note)?;
    let line = Line {
        line: "The customer wrote that no pickup window fits".into(),
        detail: format!("“{words}”"),
        reservation: Some(order),
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Marks a customer's note as answered.
///
/// # Errors
/// The database's own.
pub fn answered(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    if pickups::close_note(tx, order, doing.now.at)? {
        let line = "The customer’s note about pickup was answered".to_string();
        stories::tell(tx, doing.now.at, &doing.actor, Line { line, reservation: Some(order), ..Line::default() })?;
    }
    Ok(())
}
