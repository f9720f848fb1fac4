//! Windows in which the meat of a processing date is collected: added, moved, called off. Whoever chose one is told.

use super::pickup_event::{cancel_with, publish_with};
use super::pickup_words::{begins_at, pickup_values, place_line, window_words};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, Problems};
use crate::book::ids::{DateId, MessageId, PickupPlaceId, PickupWindowId, ReservationId};
use crate::book::pickup_places::{self, Window};
use crate::book::rows::pickups::{NewPickupWindow, PickupChoice, PickupWindow};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, pickups, reservations};
use crate::post::wording::Purpose;
use chrono::NaiveDate;

/// The most windows of one date.
pub const MOST_WINDOWS: usize = 40;

/// A window as it was typed; times are `HH:MM`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WindowIn {
    /// Where.
    pub place: PickupPlaceId,
    /// Which day.
    pub on_day: NaiveDate,
    /// From when.
    pub opens: String,
    /// Until when.
    pub closes: String,
    /// How many customers, 1 to 1,000.
    pub most: i64,
}

fn look_over(tx: &mut Tx, doing: &Doing, date: DateId, new: &WindowIn) -> Result<(), Failure> {
    let mut problems = Problems::default();
    let (booked, _) = dates::get(tx.conn(), date)?;
    if booked.cancelled_at.is_some() {
        problems.add("", "This date was cancelled, so nothing is collected from it.");
    }
    if new.on_day < booked.kill_on {
        problems.add("on_day", "The window lies before the day of slaughter. Choose a later day.");
    } else if new.on_day < doing.now.today {
        problems.add("on_day", "That day is past. Choose today or a later one.");
    }
    if new.closes <= new.opens {
        problems.add("closes", "The window ends before it begins. Choose a later time.");
    }
    match pickup_places::place(tx.conn(), new.place) {
        Ok(_) => {}
        Err(diesel::result::Error::NotFound) => problems.add("place", "Choose a place of the list."),
        Err(e) => return Err(e.into()),
    }
    problems.check()
}

/// Adds a window to a date.
///
/// # Errors
/// [`Failure::Refused`] when it does not fit the date, ends before it begins, or there are too many.
pub fn add_window(tx: &mut Tx, doing: &Doing, date: DateId, new: &WindowIn) -> Result<PickupWindowId, Failure> {
    look_over(tx, doing, date, new)?;
    if pickup_places::windows(tx.conn(), date)?.len() >= MOST_WINDOWS {
        return Err(Failure::refuse("", format!("A date has at most {MOST_WINDOWS} windows. Call one off first.")));
    }
    let id = pickup_places::add_window(
        tx,
        &NewPickupWindow {
            date_id: date,
            place_id: new.place,
            on_day: new.on_day,
            opens: new.opens.clone(),
            closes: new.closes.clone(),
            most: new.most,
            created_at: doing.now.at,
        },
    )?;
    let window = pickup_places::window(tx.conn(), id)?;
    let line = format!("Pickup window added: {}", said(&window));
    tell(tx, doing, date, line, format!("For {} customers.", new.most))?;
    Ok(id)
}

fn said(w: &Window) -> String {
    format!("{} at {}", window_words(&w.window), place_line(&w.place))
}

fn tell(tx: &mut Tx, doing: &Doing, date: DateId, line: String, detail: String) -> Result<(), Failure> {
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, date: Some(date), ..Line::default() })?)
}

/// Changes a window. When day, hours or place change, whoever chose it is told; returns how many were.
///
/// # Errors
/// [`Failure::Refused`] as for a new one, when it was called off, or more come than it would be for; [`Failure::Stale`].
pub fn change_window(
    tx: &mut Tx,
    doing: &Doing,
    id: PickupWindowId,
    version: i64,
    new: &WindowIn,
) -> Result<usize, Failure> {
    let before = pickup_places::window(tx.conn(), id)?;
    let date = before.window.date_id;
    if before.window.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This window was called off. Add a new one."));
    }
    look_over(tx, doing, date, new)?;
    if new.most < before.taken {
        let says = format!("{} customers chose it already. Let at least that many come.", before.taken);
        return Err(Failure::refuse("most", says));
    }
    let changed = PickupWindow {
        place_id: new.place,
        on_day: new.on_day,
        opens: new.opens.clone(),
        closes: new.closes.clone(),
        most: new.most,
        ..before.window.clone()
    };
    if !pickup_places::save_window(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let after = pickup_places::window(tx.conn(), id)?;
    let moved = said(&before) != said(&after);
    if !moved {
        tell(tx, doing, date, format!("Pickup window changed: {}", said(&after)), format!("For {} now.", new.most))?;
        return Ok(0);
    }
    pickups::count_change(tx, id)?;
    let what = format!("It was {}. It is now {}.", said(&before), said(&after));
    tell(tx, doing, date, "A pickup window was moved".into(), what.clone())?;
    let who = pickups::who_comes(tx.conn(), id)?;
    for order in &who {
        if let Some(message) = say_moved(tx, doing, *order, &what)? {
            let p = pickups::of_orders(tx.conn(), &[*order])?.remove(order).unwrap_or_default();
            publish_with(tx, doing, message, *order, &p)?;
        }
    }
    Ok(who.len())
}

/// Calls a window off: whoever chose it has none now and is told. Returns how many.
///
/// # Errors
/// [`Failure::Refused`] when it was called off or is over; [`Failure::Stale`] when somebody saved since `version`.
pub fn call_off(tx: &mut Tx, doing: &Doing, id: PickupWindowId, version: i64) -> Result<usize, Failure> {
    let before = pickup_places::window(tx.conn(), id)?;
    if before.window.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This window was called off already."));
    }
    if begins_at(&before.window, doing.now) < doing.now.at && before.taken > 0 {
        return Err(Failure::refuse("", "This window has begun. Tick off who came; the others can be given another."));
    }
    if !pickup_places::call_off(tx, id, version, doing.now.at)? {
        return Err(Failure::Stale);
    }
    let who = pickups::who_comes(tx.conn(), id)?;
    let what = format!("{} is called off.", said(&before));
    tell(tx, doing, before.window.date_id, "A pickup window was called off".into(), what.clone())?;
    let known = pickups::of_orders(tx.conn(), &who)?;
    for order in &who {
        let times = known.get(order).and_then(|p| p.choice.as_ref()).map_or(0, |c| c.times).saturating_add(1);
        let none = PickupChoice {
            reservation_id: *order,
            window_id: None,
            chosen_at: doing.now.at,
            chosen_by: doing.actor.clone(),
            times,
        };
        pickups::set_choice(tx, &none)?;
        if let Some(message) = say_moved(tx, doing, *order, &what)? {
            let was = (before.window.clone(), before.place.clone());
            cancel_with(tx, doing, message, *order, &was, times)?;
        }
    }
    Ok(who.len())
}

/// Tells whoever did not collect it yet; the message, if there is one.
fn say_moved(tx: &mut Tx, doing: &Doing, order: ReservationId, what: &str) -> Result<Option<MessageId>, Failure> {
    let p = pickups::of_orders(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let mut told = None;
    if r.collected_at.is_none() {
        let values = pickup_values(tx.conn(), doing.now, order, &p)?.with("what_changed", what);
        let (customer, reservation) = (r.customer_id, Some(order));
        let purpose = Purpose::PickupMoved;
        told = Some(queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?);
    }
    let line = Line {
        line: "The pickup window has changed".into(),
        detail: what.to_string(),
        reservation: Some(order),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(told)
}
