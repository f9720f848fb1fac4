//! Handing an order's meat over: ticked off with the name of who came, and taken back when it was a mistake.

use super::pickup_rules::in_force;
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::ids::ReservationId;
use crate::book::pickups;
use crate::book::rows::pickups::PickupCollected;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{reservations, standing};
use crate::trade::vocabulary::Condemned;
use chrono::TimeDelta;

/// How long ago a tick that comes in late may have been made.
const LATEST: TimeDelta = TimeDelta::days(30);

/// A tick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Who came.
    pub by_name: String,
    /// When, if the phone that ticked was out of reach since; else now.
    pub at: Option<At>,
    /// Although it is held until paid.
    pub anyway: bool,
}

/// Ticks an order off. The same tick again does nothing, so that a phone may send it twice.
///
/// # Errors
/// [`Failure::Refused`] when there is no meat to hand over, it is held until paid, or somebody else was ticked off for it.
pub fn hand_over(tx: &mut Tx, doing: &Doing, order: ReservationId, tick: &Tick) -> Result<(), Failure> {
    let (r, who, _) = reservations::get(tx.conn(), order)?;
    let by_name = if tick.by_name.trim().is_empty() { who.name.clone() } else { tick.by_name.trim().to_string() };
    let before = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    if let Some(done) = before.collected {
        return if done.by_name == by_name {
            Ok(())
        } else {
            let says = format!("It was ticked off already: {} collected it.", done.by_name);
            Err(Failure::refuse(format!("by-{order}"), says))
        };
    }
    let facts = standing::facts(tx.conn(), &[&r])?.remove(&order).unwrap_or_default();
    let condemned = facts.weigh_in.as_ref().is_some_and(|w| w.condemned == Condemned::Whole);
    if r.cancelled_at.is_some() || condemned || facts.date.is_none_or(|(_, kill)| kill > doing.now.today) {
        let says = "There is no meat of this order to hand over. Look at its page.";
        return Err(Failure::refuse(format!("by-{order}"), says));
    }
    let owed = facts.balance();
    let held = in_force(tx.conn())?.hold_until_paid && owed.is_none_or(|b| b.is_positive());
    let owes = owed.map_or("it is not invoiced yet".to_string(), |b| format!("{} is still to be paid", b.dollars()));
    if held && !tick.anyway {
        let says = format!("Held until paid: {owes}. Record the payment first, or tick that you hand it over anyway.");
        return Err(Failure::refuse(format!("anyway-{order}"), says));
    }
    let earliest = doing.now.at.plus(-LATEST);
    let at = tick.at.filter(|at| *at >= earliest).unwrap_or(doing.now.at).min(doing.now.at);
    let (noted_by, noted_at) = (doing.actor.clone(), doing.now.at);
    let line = format!("Collected by {by_name}");
    pickups::collect(tx, &PickupCollected { reservation_id: order, by_name, noted_by, noted_at }, at)?;
    pickups::close_note(tx, order, doing.now.at)?;
    let detail = if held { format!("Handed over although {owes}.") } else { String::new() };
    let (customer, date) = (Some(who.id), facts.date.map(|(id, _)| id));
    let line = Line { line, detail, customer, reservation: Some(order), date, ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Takes a tick back.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order. One that is not ticked off stays so.
pub fn take_back(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    if r.collected_at.is_some() {
        pickups::uncollect(tx, order)?;
        let line = "Not collected after all: the tick was taken back".to_string();
        stories::tell(tx, doing.now.at, &doing.actor, Line { line, reservation: Some(order), ..Line::default() })?;
    }
    Ok(())
}
