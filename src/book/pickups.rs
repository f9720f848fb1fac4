//! What became of orders after cutting: ready, a window chosen, collected, storage charged. Written once each; where an order stands
//! is read from it.

use super::at::At;
use super::conn::DbConn;
use super::ids::{DateId, PickupNoteId, PickupWindowId, ReservationId};
use super::rows::people::Customer;
use super::rows::pickups::{
    NewPickupNote, NewStorageCharge, PickupChoice, PickupCollected, PickupNote, PickupPlace, PickupReady,
    PickupReminder, PickupWindow,
};
use super::rows::selling::{Offering, Reservation};
use super::schema::{
    animal, credit_note, customer, invoice_change, offering, pickup_choice, pickup_collected, pickup_note,
    pickup_place, pickup_ready, pickup_reminder, pickup_window, placement, reservation, storage_charge, weigh_in,
};
use super::store::Tx;
use crate::trade::money::Money;
use crate::trade::vocabulary::Condemned;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// The most orders one look at what waits takes up.
const MOST: i64 = 2_000;

/// What is known of one order's pickup.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Pickup {
    /// Its meat is ready.
    pub ready: Option<PickupReady>,
    /// What was chosen, also when the window is gone.
    pub choice: Option<PickupChoice>,
    /// The window it was given, with its place.
    pub window: Option<(PickupWindow, PickupPlace)>,
    /// The customer's words that wait for an answer.
    pub note: Option<PickupNote>,
    /// Who collected it.
    pub collected: Option<PickupCollected>,
    /// Storage charged so far: lines that stand on the order, and on invoices that hold.
    pub charged: Money,
}

/// The pickups of these orders, in a handful of queries whatever their number; every one of them has an entry.
///
/// # Errors
/// The database's own.
pub fn of_orders(c: &mut DbConn, ids: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Pickup>> {
    let mut out: HashMap<ReservationId, Pickup> = ids.iter().map(|id| (*id, Pickup::default())).collect();
    macro_rules! put {
        ($rows:expr, $field:ident) => {
            for row in $rows {
                if let Some(p) = out.get_mut(&row.reservation_id) {
                    p.$field = Some(row);
                }
            }
        };
    }
    let ready: Vec<PickupReady> = pickup_ready::table
        .filter(pickup_ready::reservation_id.eq_any(ids.to_vec()))
        .select(PickupReady::as_select())
        .load(c)?;
    let choices: Vec<PickupChoice> = pickup_choice::table
        .filter(pickup_choice::reservation_id.eq_any(ids.to_vec()))
        .select(PickupChoice::as_select())
        .load(c)?;
    let chosen: Vec<PickupWindowId> = choices.iter().filter_map(|ch| ch.window_id).collect();
    let windows: HashMap<PickupWindowId, (PickupWindow, PickupPlace)> = pickup_window::table
        .inner_join(pickup_place::table)
        .filter(pickup_window::id.eq_any(chosen))
        .select((PickupWindow::as_select(), PickupPlace::as_select()))
        .load::<(PickupWindow, PickupPlace)>(c)?
        .into_iter()
        .map(|w| (w.0.id, w))
        .collect();
    for choice in choices {
        if let Some(p) = out.get_mut(&choice.reservation_id) {
            p.window = choice.window_id.and_then(|id| windows.get(&id).cloned());
            p.choice = Some(choice);
        }
    }
    let notes: Vec<PickupNote> = pickup_note::table
        .filter(pickup_note::reservation_id.eq_any(ids.to_vec()))
        .filter(pickup_note::answered_at.is_null())
        .select(PickupNote::as_select())
        .load(c)?;
    let collected: Vec<PickupCollected> = pickup_collected::table
        .filter(pickup_collected::reservation_id.eq_any(ids.to_vec()))
        .select(PickupCollected::as_select())
        .load(c)?;
    put!(ready, ready);
    put!(notes, note);
    put!(collected, collected);
    // What stood on an invoice that was taken back is not charged any more.
    let charged: Vec<(ReservationId, Money)> = storage_charge::table
        .left_join(invoice_change::table.on(storage_charge::change_id.eq(invoice_change::id.nullable())))
        .left_join(credit_note::table.on(credit_note::invoice_id.nullable().eq(invoice_change::invoice_id.nullable())))
        .filter(storage_charge::reservation_id.eq_any(ids.to_vec()))
        .filter(credit_note::id.nullable().is_null())
        .select((storage_charge::reservation_id, storage_charge::amount))
        .load(c)?;
    for (id, amount) in charged {
        if let Some(p) = out.get_mut(&id) {
            p.charged = Money::from_cents(p.charged.cents().saturating_add(amount.cents()));
        }
    }
    Ok(out)
}

/// The orders whose shares hang on head of a date that were neither lost nor condemned whole, by number.
///
/// # Errors
/// The database's own.
pub fn orders_on(c: &mut DbConn, date: DateId) -> QueryResult<Vec<(Reservation, Customer, Offering)>> {
    let hang = placement::table
        .inner_join(animal::table.left_join(weigh_in::table))
        .filter(animal::date_id.eq(date))
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::condemned.nullable().is_null().or(weigh_in::condemned.nullable().ne(Condemned::Whole)))
        .select(placement::reservation_id);
    let mut rows: Vec<(Reservation, Customer, Offering)> = reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::id.eq_any(hang))
        .filter(reservation::cancelled_at.is_null())
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load(c)?;
    rows.sort_by_cached_key(|(r, ..)| super::placements::number_order(&r.number));
    Ok(rows)
}

/// Orders that were ready in the last two years and are not collected, the first ready first; at most 2,000.
///
/// # Errors
/// The database's own.
pub fn outstanding(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<(Reservation, Customer)>> {
    pickup_ready::table
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(pickup_ready::ready_on.ge(today - chrono::TimeDelta::days(730)))
        .filter(reservation::collected_at.is_null())
        .filter(reservation::cancelled_at.is_null())
        .order((pickup_ready::ready_on, reservation::id))
        .limit(MOST)
        .select((Reservation::as_select(), Customer::as_select()))
        .load(c)
}

/// The orders that chose a window.
///
/// # Errors
/// The database's own.
pub fn who_comes(c: &mut DbConn, window: PickupWindowId) -> QueryResult<Vec<ReservationId>> {
    pickup_choice::table
        .filter(pickup_choice::window_id.eq(Some(window)))
        .order(pickup_choice::reservation_id)
        .select(pickup_choice::reservation_id)
        .load(c)
}

/// Writes that an order's meat is ready.
///
/// # Errors
/// The database's own; a unique violation when it is written already.
pub fn add_ready(tx: &mut Tx, new: &PickupReady) -> QueryResult<()> {
    diesel::insert_into(pickup_ready::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Takes back that an order's meat is ready.
///
/// # Errors
/// The database's own.
pub fn take_ready_back(tx: &mut Tx, order: ReservationId) -> QueryResult<()> {
    diesel::delete(pickup_ready::table.find(order)).execute(tx.conn())?;
    Ok(())
}

/// Writes how many boxes an order has.
///
/// # Errors
/// The database's own.
pub fn set_boxes(tx: &mut Tx, order: ReservationId, boxes: Option<i64>) -> QueryResult<()> {
    diesel::update(pickup_ready::table.find(order)).set(pickup_ready::boxes.eq(boxes)).execute(tx.conn())?;
    Ok(())
}

/// Gives an order a window, or takes the one it had away.
///
/// # Errors
/// The database's own.
pub fn set_choice(tx: &mut Tx, new: &PickupChoice) -> QueryResult<()> {
    let n = diesel::update(pickup_choice::table.find(new.reservation_id)).set(new.clone()).execute(tx.conn())?;
    if n == 0 {
        diesel::insert_into(pickup_choice::table).values(new.clone()).execute(tx.conn())?;
    }
    Ok(())
}

/// Counts a change of the window itself for everybody who chose it.
///
/// # Errors
/// The database's own.
pub fn count_change(tx: &mut Tx, window: PickupWindowId) -> QueryResult<()> {
    diesel::update(pickup_choice::table.filter(pickup_choice::window_id.eq(Some(window))))
        .set(pickup_choice::times.eq(pickup_choice::times + 1))
        .execute(tx.conn())?;
    Ok(())
}

/// Writes a customer's words; an open note of the order is replaced.
///
/// # Errors
/// The database's own.
pub fn add_note(tx: &mut Tx, new: &NewPickupNote) -> QueryResult<PickupNoteId> {
    let open = pickup_note::table
        .filter(pickup_note::reservation_id.eq(new.reservation_id))
        .filter(pickup_note::answered_at.is_null());
    diesel::delete(open).execute(tx.conn())?;
    diesel::insert_into(pickup_note::table).values(new.clone()).returning(pickup_note::id).get_result(tx.conn())
}

/// Closes the open note of an order; `false` when there is none.
///
/// # Errors
/// The database's own.
pub fn close_note(tx: &mut Tx, order: ReservationId, at: At) -> QueryResult<bool> {
    let open =
        pickup_note::table.filter(pickup_note::reservation_id.eq(order)).filter(pickup_note::answered_at.is_null());
    Ok(diesel::update(open).set(pickup_note::answered_at.eq(Some(at))).execute(tx.conn())? > 0)
}

/// The reminders written for these orders.
///
/// # Errors
/// The database's own.
pub fn reminders(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<Vec<PickupReminder>> {
    pickup_reminder::table
        .filter(pickup_reminder::reservation_id.eq_any(orders.to_vec()))
        .select(PickupReminder::as_select())
        .load(c)
}

/// Writes that somebody was reminded.
///
/// # Errors
/// The database's own; a unique violation when it was for that day already.
pub fn note_reminder(tx: &mut Tx, new: &PickupReminder) -> QueryResult<()> {
    diesel::insert_into(pickup_reminder::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Writes that an order was collected at an instant.
///
/// # Errors
/// The database's own; a unique violation when it is written already.
pub fn collect(tx: &mut Tx, new: &PickupCollected, at: At) -> QueryResult<()> {
    let c = tx.conn();
    diesel::insert_into(pickup_collected::table).values(new.clone()).execute(c)?;
    set_collected(c, new.reservation_id, Some(at))
}

/// Takes that back.
///
/// # Errors
/// The database's own.
pub fn uncollect(tx: &mut Tx, order: ReservationId) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(pickup_collected::table.find(order)).execute(c)?;
    set_collected(c, order, None)
}

fn set_collected(c: &mut DbConn, order: ReservationId, at: Option<At>) -> QueryResult<()> {
    diesel::update(reservation::table.find(order))
        .set((reservation::collected_at.eq(at), reservation::version.eq(reservation::version + 1)))
        .execute(c)?;
    Ok(())
}

/// Writes storage that was charged.
///
/// # Errors
/// The database's own.
pub fn add_storage(tx: &mut Tx, new: &NewStorageCharge) -> QueryResult<()> {
    diesel::insert_into(storage_charge::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}
