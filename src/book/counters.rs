//! Numbers without gaps: a counter row counted up in the transaction that uses the number.

use super::conn::DbConn;
use super::schema::counter;
use super::store::Tx;
use diesel::prelude::*;

/// The value the next [`next`] of a series would return, were nothing counted in between.
///
/// # Errors
/// The database's own.
pub fn coming(c: &mut DbConn, series: &str) -> QueryResult<i64> {
    let last = counter::table.find(series).select(counter::value).first::<i64>(c).optional()?;
    Ok(last.unwrap_or(0).saturating_add(1))
}

/// Counts a series up and returns the new value, beginning with 1. The number is used or rolled back with the transaction.
///
/// # Errors
/// The database's own.
pub fn next(tx: &mut Tx, series: &str) -> QueryResult<i64> {
    let c = tx.conn();
    let counted = diesel::update(counter::table.find(series))
        .set(counter::value.eq(counter::value + 1))
        .returning(counter::value)
        .get_result::<i64>(c)
        .optional()?;
    match counted {
        Some(n) => Ok(n),
        None => {
            diesel::insert_into(counter::table).values((counter::name.eq(series), counter::value.eq(1))).execute(c)?;
            Ok(1)
        }
    }
}
