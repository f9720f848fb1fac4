//! Planning: locks.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, ReservationId};
use crate::book::schema::*;
use diesel::prelude::*;

/// 13: a locked share hangs on the animal it is locked on.
pub(super) fn locks(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, AnimalId)> =
        place_lock::table.select((place_lock::reservation_id, place_lock::animal_id)).load(c)?;
    let mut faults = Vec::new();
    for some in rows.chunks(500) {
        let orders: Vec<_> = some.iter().map(|(order, _)| *order).collect();
        let hang: Vec<(ReservationId, AnimalId)> = placement::table
            .filter(placement::reservation_id.eq_any(orders))
            .select((placement::reservation_id, placement::animal_id))
            .load(c)?;
        let loose = some.iter().filter(|lock| !hang.contains(lock));
        faults.extend(
            loose.map(|(order, on)| format!("reservation {order} is locked on animal {on} and does not hang there")),
        );
    }
    Ok(Checked { rule: "13 a locked share hangs on the animal it is locked on", looked_at: rows.len(), faults })
}
