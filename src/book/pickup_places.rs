//! Where meat is handed over, by which rule, and the windows of a processing date.

use super::at::At;
use super::conn::DbConn;
use super::ids::{DateId, PickupPlaceId, PickupWindowId};
use super::rows::pickups::{NewPickupPlace, NewPickupWindow, PickupPlace, PickupRule, PickupWindow};
use super::schema::{pickup_choice, pickup_place, pickup_rule, pickup_window};
use super::store::Tx;
use diesel::prelude::*;
use std::collections::HashMap;

/// A window with its place, and how many customers come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    /// The window.
    pub window: PickupWindow,
    /// Its place.
    pub place: PickupPlace,
    /// How many customers chose it.
    pub taken: i64,
}

impl Window {
    /// How many more can come.
    pub fn left(&self) -> i64 {
        crate::trade::pickup::left(self.window.most, self.taken)
    }
}

/// The stored rule; none means the defaults.
///
/// # Errors
/// The database's own.
pub fn rule(c: &mut DbConn) -> QueryResult<Option<PickupRule>> {
    pickup_rule::table.order(pickup_rule::id).select(PickupRule::as_select()).first(c).optional()
}

/// Saves the rule. `seen` is the version the form was opened with, 0 for the defaults; `false` if somebody saved in between.
///
/// # Errors
/// The database's own.
pub fn save_rule(tx: &mut Tx, new: &PickupRule, seen: i64) -> QueryResult<bool> {
    let c = tx.conn();
    if seen == 0 {
        if rule(c)?.is_some() {
            return Ok(false);
        }
        let row = PickupRule { version: 1, ..new.clone() };
        return Ok(diesel::insert_into(pickup_rule::table).values(row).execute(c)? == 1);
    }
    let next = PickupRule { version: seen.saturating_add(1), ..new.clone() };
    Ok(diesel::update(pickup_rule::table.filter(pickup_rule::version.eq(seen))).set(next).execute(c)? == 1)
}

/// Every place, those that are not used any more too, by name; at most 200.
///
/// # Errors
/// The database's own.
pub fn places(c: &mut DbConn) -> QueryResult<Vec<PickupPlace>> {
    pickup_place::table
        .order((pickup_place::name, pickup_place::id))
        .limit(200)
        .select(PickupPlace::as_select())
        .load(c)
}

/// One place.
///
/// # Errors
/// `NotFound` when there is none.
pub fn place(c: &mut DbConn, id: PickupPlaceId) -> QueryResult<PickupPlace> {
    pickup_place::table.find(id).select(PickupPlace::as_select()).first(c)
}

/// Adds a place.
///
/// # Errors
/// The database's own.
pub fn add_place(tx: &mut Tx, new: &NewPickupPlace) -> QueryResult<PickupPlaceId> {
    diesel::insert_into(pickup_place::table).values(new.clone()).returning(pickup_place::id).get_result(tx.conn())
}

/// Saves a place if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save_place(tx: &mut Tx, changed: &PickupPlace, version: i64) -> QueryResult<bool> {
    let next = PickupPlace { version: version.saturating_add(1), ..changed.clone() };
    let row = pickup_place::table.filter(pickup_place::id.eq(changed.id)).filter(pickup_place::version.eq(version));
    Ok(diesel::update(row).set(next).execute(tx.conn())? == 1)
}

/// How many customers chose each of these windows.
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, windows: &[PickupWindowId]) -> QueryResult<HashMap<PickupWindowId, i64>> {
    let rows: Vec<(Option<PickupWindowId>, i64)> = pickup_choice::table
        .filter(pickup_choice::window_id.eq_any(windows.iter().copied().map(Some).collect::<Vec<_>>()))
        .group_by(pickup_choice::window_id)
        .select((pickup_choice::window_id, diesel::dsl::count_star()))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, n)| Some((id?, n))).collect())
}

fn with_taken(c: &mut DbConn, rows: Vec<(PickupWindow, PickupPlace)>) -> QueryResult<Vec<Window>> {
    let taken = taken(c, &rows.iter().map(|(w, _)| w.id).collect::<Vec<_>>())?;
    let of = |id| taken.get(&id).copied().unwrap_or(0);
    Ok(rows.into_iter().map(|(window, place)| Window { taken: of(window.id), window, place }).collect())
}

/// The windows of a date that are not called off, in order of time; at most 100.
///
/// # Errors
/// The database's own.
pub fn windows(c: &mut DbConn, date: DateId) -> QueryResult<Vec<Window>> {
    let rows = pickup_window::table
        .inner_join(pickup_place::table)
        .filter(pickup_window::date_id.eq(date))
        .filter(pickup_window::cancelled_at.is_null())
        .order((pickup_window::on_day, pickup_window::opens, pickup_window::id))
        .limit(100)
        .select((PickupWindow::as_select(), PickupPlace::as_select()))
        .load(c)?;
    with_taken(c, rows)
}

/// One window.
///
/// # Errors
/// `NotFound` when there is none.
pub fn window(c: &mut DbConn, id: PickupWindowId) -> QueryResult<Window> {
    let row = pickup_window::table
        .inner_join(pickup_place::table)
        .filter(pickup_window::id.eq(id))
        .select((PickupWindow::as_select(), PickupPlace::as_select()))
        .first(c)?;
    with_taken(c, vec![row])?.pop().ok_or(diesel::result::Error::NotFound)
}

/// Adds a window.
///
/// # Errors
/// The database's own.
pub fn add_window(tx: &mut Tx, new: &NewPickupWindow) -> QueryResult<PickupWindowId> {
    diesel::insert_into(pickup_window::table).values(new.clone()).returning(pickup_window::id).get_result(tx.conn())
}

/// Saves a window if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save_window(tx: &mut Tx, changed: &PickupWindow, version: i64) -> QueryResult<bool> {
    let next = PickupWindow { version: version.saturating_add(1), ..changed.clone() };
    let row = pickup_window::table.filter(pickup_window::id.eq(changed.id)).filter(pickup_window::version.eq(version));
    Ok(diesel::update(row).set(next).execute(tx.conn())? == 1)
}

/// Calls a window off; `false` if somebody saved since `version`.
///
/// # Errors
/// The database's own.
pub fn call_off(tx: &mut Tx, id: PickupWindowId, version: i64, at: At) -> QueryResult<bool> {
    let row = pickup_window::table.filter(pickup_window::id.eq(id)).filter(pickup_window::version.eq(version));
    let set = (pickup_window::cancelled_at.eq(Some(at)), pickup_window::version.eq(version.saturating_add(1)));
    Ok(diesel::update(row).set(set).execute(tx.conn())? == 1)
}
