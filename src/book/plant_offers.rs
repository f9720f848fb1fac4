//! What processors leave out of the cuts of a species.

use super::conn::DbConn;
use super::ids::ProcessorId;
use super::rows::plants::ProcessorOffer;
use super::schema::processor_offer;
use super::store::Tx;
use crate::trade::share::Species;
use diesel::prelude::*;
use std::collections::HashMap;

/// What these plants said, by plant and species; a plant that is not in it does everything.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, plants: &[ProcessorId]) -> QueryResult<HashMap<(ProcessorId, Species), ProcessorOffer>> {
    let rows: Vec<ProcessorOffer> = processor_offer::table
        .filter(processor_offer::processor_id.eq_any(plants.to_vec()))
        .select(ProcessorOffer::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|row| ((row.processor_id, row.species), row)).collect())
}

/// Saves what a plant says if nobody did since `version`, which is 0 when it said nothing yet; `false` if somebody did.
///
/// # Errors
/// The database's own; a unique violation when there is something already and `version` is 0.
pub fn save(tx: &mut Tx, changed: &ProcessorOffer, version: i64) -> QueryResult<bool> {
    let next = ProcessorOffer { version: version.saturating_add(1), ..changed.clone() };
    if version == 0 {
        diesel::insert_into(processor_offer::table).values(next).execute(tx.conn())?;
        return Ok(true);
    }
    let mine = processor_offer::table
        .filter(processor_offer::processor_id.eq(changed.processor_id))
        .filter(processor_offer::species.eq(changed.species))
        .filter(processor_offer::version.eq(version));
    Ok(diesel::update(mine).set(next).execute(tx.conn())? == 1)
}
