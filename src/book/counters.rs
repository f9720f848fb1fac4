//! Numbers without gaps: a counter row counted up in the transaction that uses the number.

use super::schema::counter;
use super::store::Tx;
use diesel::prelude::*;

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
