//! Offering a share that is left to somebody on the waiting list, with time to answer; it is held meanwhile.
//!
//! When the answer is no, or none comes in time, the share goes to the next in line who was not asked yet and whom it fits.
//! Those who did not want it stay on the list; they are asked again only when the farmer does so.

use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, message_values, move_up};
use crate::book::ids::{OfferingId, ReservationId};
use crate::book::rows::waiting::NewWaitingOffer;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, offerings, reservations, waiting_offers};
use crate::post::phrases::long_date;
use crate::post::wording::Purpose;
use crate::trade::dates::full;
use crate::trade::room::Sold;
use crate::trade::share::sold_as;
use crate::trade::vocabulary::OfferEnd;
use chrono::Days;

/// Offers a waiting order its share and writes to the customer.
///
/// # Errors
/// [`Failure::Refused`] when it does not wait, has an offer already, or there is no room for it beside what is sold and held.
pub fn offer_share(tx: &mut Tx, doing: &Doing, id: ReservationId) -> Result<(), Failure> {
    let (r, customer, o) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() || r.waiting_since.is_none() {
        return Err(Failure::refuse("", "This order is not on the waiting list any more. Nothing was offered."));
    }
    if let Some(day) = waiting_offers::answer_by(tx.conn(), id)? {
        let sentence = format!("A share is held for {} through {} already.", customer.name, full(day));
        return Err(Failure::refuse("", sentence));
    }
    if !Sold::count(reservations::held(tx.conn(), o.id)?).and(r.size, r.part, 1).fits(o.head_count) {
        let what = sold_as(r.size, r.part, o.species).to_lowercase();
        return Err(Failure::refuse("", format!("No {what} is left: all is sold, or held for others.")));
    }
    let farm = farm::get(tx.conn())?;
    let days = u64::try_from(farm.offer_days).unwrap_or(3);
    let answer_by = doing.now.today.checked_add_days(Days::new(days)).unwrap_or(doing.now.today);
    let values = message_values::order_values(tx.conn(), id)?.with("answer_by", long_date(answer_by));
    let words = format!("{}, {}", sold_as(r.size, r.part, o.species), o.season);
    waiting_offers::insert(
        tx,
        &NewWaitingOffer { reservation_id: id, offering_id: o.id, words, offered_at: doing.now.at, answer_by },
    )?;
    let line = format!("{} was offered a {}", customer.name, sold_as(r.size, r.part, o.species).to_lowercase());
    tell(tx, doing, id, line, format!("Held through {}.", full(answer_by)))?;
    queue_message(
        tx,
        doing,
        &ToSay {
            customer: customer.id,
            reservation: Some(id),
            purpose: Purpose::WaitingOffer,
            values,
            attachment: None,
        },
    )?;
    Ok(())
}

/// Takes the answer to an open offer. Yes: the order has its share, and the customer is told. No: it stays on the list, and the
/// share goes to the next.
///
/// # Errors
/// [`Failure::Refused`] when nothing is offered to this order any more.
pub fn answer_offer(tx: &mut Tx, doing: &Doing, id: ReservationId, yes: bool) -> Result<(), Failure> {
    if waiting_offers::answer_by(tx.conn(), id)?.is_none() {
        return Err(Failure::refuse("", "This offer is over: it was answered, taken back, or its time passed."));
    }
    if yes {
        return move_up::move_up(tx, doing, id, true);
    }
    end(tx, doing, id, OfferEnd::Declined, "did not want the share; it stays on the waiting list")?;
    let (r, ..) = reservations::get(tx.conn(), id)?;
    offer_next(tx, doing, r.offering_id)?;
    Ok(())
}

/// The same, by the customer: refused when the last day has passed, also before the offer was closed.
///
/// # Errors
/// As [`answer_offer`].
pub fn answer_in_time(tx: &mut Tx, doing: &Doing, id: ReservationId, yes: bool) -> Result<(), Failure> {
    if waiting_offers::answer_by(tx.conn(), id)?.is_some_and(|day| day < doing.now.today) {
        return Err(Failure::refuse("", "The time to answer this offer is over. You stay on the waiting list."));
    }
    answer_offer(tx, doing, id, yes)
}

/// Ends the offers whose last day has passed and offers each share to the next in line; how many ended.
///
/// # Errors
/// The database's own, or a message that cannot be written.
pub fn lapse_offers(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    let past = waiting_offers::past(tx.conn(), doing.now.today)?;
    for (id, _) in &past {
        end(tx, doing, *id, OfferEnd::Lapsed, "did not answer in time; it stays on the waiting list")?;
    }
    for (_, offering) in &past {
        offer_next(tx, doing, *offering)?;
    }
    Ok(past.len())
}

/// Offers a share to the first in line who was not asked yet and whom it fits; whether there was one.
///
/// # Errors
/// As [`offer_share`].
pub fn offer_next(tx: &mut Tx, doing: &Doing, offering: OfferingId) -> Result<bool, Failure> {
    let o = offerings::get(tx.conn(), offering)?;
    if o.closed_at.is_some() {
        return Ok(false);
    }
    let held = Sold::count(reservations::held(tx.conn(), offering)?);
    let line = waiting_offers::line(tx.conn(), &[offering])?;
    let next = line.iter().find(|w| !w.is_open && w.last.is_none() && held.and(w.size, w.part, 1).fits(o.head_count));
    match next {
        Some(next) => offer_share(tx, doing, next.reservation).map(|()| true),
        None => Ok(false),
    }
}

fn end(tx: &mut Tx, doing: &Doing, id: ReservationId, outcome: OfferEnd, says: &str) -> Result<(), Failure> {
    waiting_offers::close(tx, id, outcome, doing.now.at)?;
    let (_, customer, _) = reservations::get(tx.conn(), id)?;
    tell(tx, doing, id, format!("{} {says}", customer.name), String::new())
}

fn tell(tx: &mut Tx, doing: &Doing, id: ReservationId, line: String, detail: String) -> Result<(), Failure> {
    let (_, customer, _) = reservations::get(tx.conn(), id)?;
    let told = Line { line, detail, customer: Some(customer.id), reservation: Some(id), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}
