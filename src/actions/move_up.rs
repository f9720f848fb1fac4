//! Moving a reservation up from the waiting list when a share has come free.

use super::confirm_order::confirm_order;
use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{reservations, waiting_offers};
use crate::post::wording::{Purpose, Values};
use crate::trade::room::Sold;
use crate::trade::share::sold_as;
use crate::trade::vocabulary::OfferEnd;

/// Gives a waiting reservation its place; with `tell` the customer is told by a message.
///
/// # Errors
/// [`Failure::Refused`] when it does not wait or there is no room for it.
pub fn move_up(tx: &mut Tx, doing: &Doing, id: ReservationId, tell: bool) -> Result<(), Failure> {
    let (r, customer, o) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() || r.waiting_since.is_none() {
        return Err(Failure::refuse("", "This order is not on the waiting list any more. Nothing was changed."));
    }
    // What is held for this order is its own.
    waiting_offers::close(tx, id, OfferEnd::Accepted, doing.now.at)?;
    if !Sold::count(reservations::held(tx.conn(), o.id)?).and(r.size, r.part, 1).fits(o.head_count) {
        return Err(Failure::refuse(
            "",
            format!(
                "There is no room for a {} yet. It moves up when a share comes free or the head count is raised.",
                sold_as(r.size, r.part, o.species).to_lowercase()
            ),
        ));
    }
    let (version, mut changed) = (r.version, r.clone());
    changed.waiting_since = None;
    if !reservations::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("{} moved up from the waiting list", customer.name),
            customer: Some(customer.id),
            reservation: Some(id),
            ..Line::default()
        },
    )?;
    if tell {
        confirm_order(tx, doing, id, Purpose::MovedUp, Values::new())?;
    }
    Ok(())
}
