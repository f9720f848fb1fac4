//! Recording that an animal was lost before its date: its shares go back, nothing is billed, and their owners are told.

use super::message_values::order_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::{AnimalId, MessageId, ReservationId};
use crate::book::rows::animals::Animal;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, placements};
use crate::post::wording::Purpose;
use crate::trade::dates::full;
use chrono::NaiveDate;

/// Records the loss of an animal that was not weighed in; gives how many orders have to be told.
///
/// # Errors
/// [`Failure::Refused`] for a day in the future, an animal that is weighed in, or one with an issued invoice;
/// [`Failure::Stale`] when somebody changed it in between.
pub fn lose_animal(
    tx: &mut Tx,
    doing: &Doing,
    id: AnimalId,
    version: i64,
    lost_on: NaiveDate,
    reason: &str,
) -> Result<usize, Failure> {
    let animal = animals::get(tx.conn(), id)?;
    if lost_on > doing.now.today {
        return Err(Failure::refuse("lost_on", "That day is in the future. Write the day it was lost."));
    }
    if carcasses::weigh_ins(tx.conn(), &[id])?.contains_key(&id) {
        let sentence = format!("{} is weighed in. Correct its weigh-in instead.", animal.name());
        return Err(Failure::refuse("", sentence));
    }
    if animal.lost_on.is_some() {
        return Err(Failure::Stale);
    }
    let name = animal.name();
    let changed = Animal { lost_on: Some(lost_on), lost_reason: reason.to_string(), ..animal };
    if !animals::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let told = Line {
        line: format!("{name} was lost on {}", full(lost_on)),
        detail: reason.to_string(),
        animal: Some(id),
        date: changed.date_id,
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    give_back(tx, doing, id, &format!("{name} was lost"))
}

/// Takes all shares off an animal that was lost or condemned, so that they can be given another one.
///
/// # Errors
/// [`Failure::Refused`] when one of them is invoiced.
pub fn give_back(tx: &mut Tx, doing: &Doing, id: AnimalId, why: &str) -> Result<usize, Failure> {
    let shares = placements::shares_on(tx.conn(), &[id])?;
    let ids: Vec<_> = shares.iter().map(|s| s.reservation).collect();
    if let Some(invoice) = placements::invoiced(tx.conn(), &ids)?.first() {
        let sentence = format!("Invoice {} is issued for a share of it. Void it first.", invoice.number);
        return Err(Failure::refuse("", sentence));
    }
    placements::lose(tx, id, &shares, doing.now.at)?;
    for share in &shares {
        let line = Line {
            line: format!("{why}; the {} of {} needs another place, and nothing is billed", share.size, share.name),
            reservation: Some(share.reservation),
            customer: Some(share.customer),
            animal: Some(id),
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(shares.len())
}

/// Takes back the loss of an animal that was recorded by mistake. Its shares have to be placed again.
///
/// # Errors
/// [`Failure::Stale`] when somebody changed it in between.
pub fn find_animal(tx: &mut Tx, doing: &Doing, id: AnimalId, version: i64) -> Result<(), Failure> {
    let animal = animals::get(tx.conn(), id)?;
    let line = format!("{} was not lost: that was recorded by mistake", animal.name());
    let changed = Animal { lost_on: None, lost_reason: String::new(), ..animal };
    if !animals::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    placements::found_again(tx, id)?;
    let told = Line { line, animal: Some(id), date: changed.date_id, ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok(())
}

/// Puts a message about the loss into the outbox, once for each order.
///
/// # Errors
/// [`Failure::NotFound`] when the order had no share of that animal; [`Failure::Refused`] when the wording cannot be filled.
pub fn tell_of_loss(
    tx: &mut Tx,
    doing: &Doing,
    animal: AnimalId,
    reservation: ReservationId,
) -> Result<MessageId, Failure> {
    let all = placements::to_tell(tx.conn(), &[animal])?;
    let who = all.into_iter().find(|t| t.reservation == reservation).ok_or(Failure::NotFound)?;
    if who.told_at.is_some() {
        return Err(Failure::refuse("", format!("A message to {} is in the outbox already.", who.name)));
    }
    let values = order_values(tx.conn(), reservation)?;
    let say = ToSay {
        customer: who.customer,
        reservation: Some(reservation),
        purpose: Purpose::AnimalLost,
        values,
        attachment: None,
    };
    let message = queue_message(tx, doing, &say)?;
    placements::told(tx, animal, reservation, doing.now.at)?;
    let line = Line {
        line: format!("A message about the lost animal to {} was put into the outbox", who.name),
        reservation: Some(reservation),
        customer: Some(who.customer),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(message)
}
