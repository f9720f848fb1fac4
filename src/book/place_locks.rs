//! Shares that stay where they are, whatever is planned.

use super::at::At;
use super::conn::DbConn;
use super::ids::{AnimalId, ReservationId};
use super::rows::plan::PlaceLock;
use super::schema::place_lock;
use super::store::Tx;
use diesel::prelude::*;
use std::collections::HashSet;

/// Which of these orders' shares are locked.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashSet<ReservationId>> {
    let rows: Vec<ReservationId> = place_lock::table
        .filter(place_lock::reservation_id.eq_any(orders.to_vec()))
        .select(place_lock::reservation_id)
        .load(c)?;
    Ok(rows.into_iter().collect())
}

/// Locks a share on the animal it hangs on.
///
/// # Errors
/// The database's own; a second lock is refused by the table.
pub fn put(tx: &mut Tx, reservation_id: ReservationId, animal_id: AnimalId, locked_at: At) -> QueryResult<()> {
    let row = PlaceLock { reservation_id, animal_id, locked_at };
    diesel::insert_into(place_lock::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Takes a lock off; `false` when there was none.
///
/// # Errors
/// The database's own.
pub fn take_off(tx: &mut Tx, order: ReservationId) -> QueryResult<bool> {
    Ok(diesel::delete(place_lock::table.filter(place_lock::reservation_id.eq(order))).execute(tx.conn())? > 0)
}
