//! Telling customers where their shares go by a plan that was taken: only those the farmer ticks, one message each.

use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::acceptances::{self, Moved, Named};
use crate::book::ids::{AcceptanceId, CustomerId};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::phrases::long_date;
use crate::post::wording::{Purpose, Values};
use crate::trade::share::sold_as;

/// Messages written at one time, at most.
pub const AT_ONCE: usize = 200;

/// Whether a move is one its customer would hear of: another date, or another animal, or none; and nobody wrote of it yet.
pub fn is_to_tell(m: &Moved) -> bool {
    let same = m.moved.from_animal_id == m.moved.to_animal_id && m.moved.from_date_id == m.moved.to_date_id;
    !same && m.moved.told_at.is_none() && m.reservation.cancelled_at.is_none()
}

/// What one customer is told, a line for each share.
pub fn in_words(named: &Named, m: &Moved) -> String {
    let day = |id| {
        let (date, plant) = named.dates.get(&id)?;
        Some(format!("{} at {}", long_date(date.kill_on), plant.name))
    };
    let (was, is) = (m.moved.from_date_id.and_then(day), m.moved.to_date_id.and_then(day));
    let what =
        format!("{}, order {}", sold_as(m.reservation.size, m.reservation.part, m.species), m.reservation.number);
    match (was, is) {
        (Some(was), Some(is)) if was == is => format!("{what}: {is}, as before, from another animal."),
        (Some(was), Some(is)) => format!("{what}: {is} (it was {was})."),
        (None, Some(is)) => format!("{what}: {is}."),
        (_, None) => format!("{what}: it has no date at the moment. We will write again."),
    }
}

/// Puts one message to each of these customers into the outbox, about all their shares that moved. Returns how many.
///
/// # Errors
/// [`Failure::Refused`] when nobody or too many are ticked, or somebody has nothing to be told, or the plan was taken back.
pub fn tell_moves(tx: &mut Tx, doing: &Doing, id: AcceptanceId, to: &[CustomerId]) -> Result<usize, Failure> {
    if to.is_empty() || to.len() > AT_ONCE {
        return Err(Failure::refuse("to", format!("Tick at least one and at most {AT_ONCE} customers.")));
    }
    if acceptances::get(tx.conn(), id)?.1.is_some() {
        return Err(Failure::refuse("to", "This plan was taken back, so there is nothing to tell."));
    }
    let moves = acceptances::moves(tx.conn(), id)?;
    let named = acceptances::named(tx.conn(), &moves)?;
    for customer in to {
        let own: Vec<&Moved> = moves.iter().filter(|m| m.customer == *customer && is_to_tell(m)).collect();
        let [first, rest @ ..] = own.as_slice() else {
            return Err(Failure::refuse("to", "Somebody you ticked was told already. Look over the list again."));
        };
        let lines: Vec<_> = own.iter().map(|m| in_words(&named, m)).collect();
        let reservation = rest.is_empty().then_some(first.reservation.id);
        let values = Values::new().with("changes", lines.join("\n"));
        let purpose = Purpose::PlaceChanged;
        queue_message(tx, doing, &ToSay { customer: *customer, reservation, purpose, values, attachment: None })?;
        let orders: Vec<_> = own.iter().map(|m| m.reservation.id).collect();
        acceptances::told(tx, id, &orders, doing.now.at)?;
        for order in orders {
            let line = format!("A message about the place of the share to {} was put into the outbox", first.name);
            let told = Line { line, customer: Some(*customer), reservation: Some(order), ..Line::default() };
            stories::tell(tx, doing.now.at, &doing.actor, told)?;
        }
    }
    Ok(to.len())
}
