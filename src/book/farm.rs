//! The farm's one row.

use super::conn::DbConn;
use super::rows::farm::Farm;
use super::schema::farm;
use super::store::Tx;
use diesel::prelude::*;

/// The farm, or the blank one of a new book.
///
/// # Errors
/// The database's own.
pub fn get(c: &mut DbConn) -> QueryResult<Farm> {
    farm::table.order(farm::id).select(Farm::as_select()).first(c)
}

/// Makes the farm's row in a new book; does nothing if there is one.
///
/// # Errors
/// The database's own.
pub fn ensure(tx: &mut Tx) -> QueryResult<()> {
    let c = tx.conn();
    if farm::table.count().get_result::<i64>(c)? == 0 {
        diesel::insert_into(farm::table).values(farm::id.eq(1)).execute(c)?;
    }
    Ok(())
}

/// Saves the farm if nobody saved it since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Farm, version: i64) -> QueryResult<bool> {
    let next = Farm { version: version.saturating_add(1), ..changed.clone() };
    let n = diesel::update(farm::table.filter(farm::id.eq(changed.id)).filter(farm::version.eq(version)))
        .set(next)
        .execute(tx.conn())?;
    Ok(n == 1)
}

impl Farm {
    /// The farm's time zone; UTC if the stored name is unknown.
    pub fn zone(&self) -> chrono_tz::Tz {
        self.time_zone.parse().unwrap_or(chrono_tz::UTC)
    }
}

/// Whether any weight or price is recorded, so that the unit can no longer change.
///
/// # Errors
/// The database's own.
pub fn has_quantities(c: &mut DbConn) -> QueryResult<bool> {
    use super::schema::{live_weight, offering, processor_charge};
    let any = offering::table.count().get_result::<i64>(c)?
        + live_weight::table.count().get_result::<i64>(c)?
        + processor_charge::table.count().get_result::<i64>(c)?;
    Ok(any > 0)
}
