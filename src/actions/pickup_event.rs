//! The calendar event of an order's pickup: one id for as long as there is the order, counted up at each change, taken back when
//! its window is called off.

use super::calendar_feed::{stamp, uid};
use super::pickup_words::{begins_at, ends_at, place_line};
use super::{Doing, Failure};
use crate::book::at::Now;
use crate::book::calendars;
use crate::book::conn::DbConn;
use crate::book::ids::{MessageId, ReservationId};
use crate::book::pickups::Pickup;
use crate::book::rows::calendars::MessageCalendar;
use crate::book::rows::farm::Farm;
use crate::book::rows::pickups::{PickupPlace, PickupWindow};
use crate::book::store::Tx;
use crate::book::{farm, reservations};
use crate::post::calendar::{Entry, Method, When, calendar};
use crate::post::envelope::check_address;

/// The file's text: with a window that holds it is published, else the one it had is taken back.
fn file(
    c: &mut DbConn,
    farm: &Farm,
    now: Now,
    order: ReservationId,
    window: &(PickupWindow, PickupPlace),
    times: i64,
    method: Method,
) -> Result<String, Failure> {
    let (r, _, o) = reservations::get(c, order)?;
    let (w, place) = window;
    let entry = Entry {
        uid: uid(farm, &format!("pickup-{}", r.number)),
        sequence: times,
        stamp: stamp(now),
        when: When::Hours(begins_at(w, now).utc(), ends_at(w, now).utc()),
        summary: format!("Collect your {} {} from {}", r.size.label(), o.species.label(), farm.name),
        location: place_line(place),
        description: format!("Order {}. {}", r.number, place.words).trim_end().to_string(),
        cancelled: method == Method::Cancel,
    };
    let organizer = check_address(&farm.mail).unwrap_or_default();
    Ok(calendar("", method, &organizer, &[entry]))
}

/// The event of an order's window, for its customer to add to a calendar; none without a window.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn event(c: &mut DbConn, now: Now, order: ReservationId, p: &Pickup) -> Result<Option<String>, Failure> {
    let (Some(window), Some(choice)) = (&p.window, &p.choice) else { return Ok(None) };
    let farm = farm::get(c)?;
    Ok(Some(file(c, &farm, now, order, window, choice.times, Method::Publish)?))
}

/// Lets the event go with a message about a window that was chosen or moved.
///
/// # Errors
/// As [`event`].
pub fn publish_with(
    tx: &mut Tx,
    doing: &Doing,
    message: MessageId,
    order: ReservationId,
    p: &Pickup,
) -> Result<(), Failure> {
    if let Some(body) = event(tx.conn(), doing.now, order, p)? {
        let method = Method::Publish.as_str().to_string();
        calendars::attach(tx, &MessageCalendar { message_id: message, method, body })?;
    }
    Ok(())
}

/// Lets what takes the event back go with a message: `window` is the one that is called off, `times` how often it changed.
///
/// # Errors
/// As [`event`].
pub fn cancel_with(
    tx: &mut Tx,
    doing: &Doing,
    message: MessageId,
    order: ReservationId,
    window: &(PickupWindow, PickupPlace),
    times: i64,
) -> Result<(), Failure> {
    let farm = farm::get(tx.conn())?;
    let body = file(tx.conn(), &farm, doing.now, order, window, times, Method::Cancel)?;
    let method = Method::Cancel.as_str().to_string();
    Ok(calendars::attach(tx, &MessageCalendar { message_id: message, method, body })?)
}
