//! What shares weighed packaged: told by the farmer or the customer, entered by the processor, and which of them counts.

use super::conn::DbConn;
use super::ids::{DateId, ProcessorId, ReservationId};
use super::plant_entries::boxes_of;
use super::rows::packaged::{NewPackagedWeight, PackagedWeight};
use super::schema::{packaged_weight, plant_entry, processing_date, processor};
use super::store::Tx;
use crate::trade::vocabulary::{EntryAnswer, EntryKind, PackagedBy};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{BTreeSet, HashMap};

/// What is known of a share's packaged weight.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// The last the farmer told; its weight is empty when it was taken back.
    pub farm: Option<PackagedWeight>,
    /// What the processor entered and the farm took.
    pub plant: Option<Weight>,
    /// The last the customer told.
    pub customer: Option<PackagedWeight>,
}

impl Told {
    /// The last of a source that is told here.
    pub const fn of(&self, source: PackagedBy) -> Option<&PackagedWeight> {
        match source {
            PackagedBy::Farm => self.farm.as_ref(),
            PackagedBy::Plant => None,
            PackagedBy::Customer => self.customer.as_ref(),
        }
    }
    /// The weight of a source.
    pub fn weight(&self, source: PackagedBy) -> Option<Weight> {
        match source {
            PackagedBy::Plant => self.plant,
            other => self.of(other)?.weight,
        }
    }
    /// The one weight that counts, by the order of trust: the farmer, the processor, the customer.
    pub fn counts(&self) -> Option<(PackagedBy, Weight)> {
        PackagedBy::ALL.iter().find_map(|source| Some((*source, self.weight(*source)?)))
    }
}

/// What is known of these shares; those nobody told anything about are left out.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Told>> {
    let mut all: HashMap<ReservationId, Told> = HashMap::new();
    let rows: Vec<PackagedWeight> = packaged_weight::table
        .filter(packaged_weight::reservation_id.eq_any(orders.to_vec()))
        .order((packaged_weight::reservation_id, packaged_weight::revision))
        .select(PackagedWeight::as_select())
        .load(c)?;
    // Later revisions take the place of earlier ones.
    for row in rows {
        let told = all.entry(row.reservation_id).or_default();
        match row.source {
            PackagedBy::Customer => told.customer = Some(row),
            PackagedBy::Farm | PackagedBy::Plant => told.farm = Some(row),
        }
    }
    for (order, boxes) in boxes_of(c, orders)? {
        if let Some(weight) = boxes.packaged.filter(|w| !w.is_zero()) {
            all.entry(order).or_default().plant = Some(weight);
        }
    }
    Ok(all)
}

/// The orders somebody told a packaged weight of, the newest first; at most `most`.
///
/// # Errors
/// The database's own.
pub fn newest(c: &mut DbConn, most: usize) -> QueryResult<Vec<ReservationId>> {
    let limit = i64::try_from(most).unwrap_or(i64::MAX);
    let told: Vec<ReservationId> = packaged_weight::table
        .select(packaged_weight::reservation_id)
        .distinct()
        .order(packaged_weight::reservation_id.desc())
        .limit(limit)
        .load(c)?;
    let entered: Vec<Option<ReservationId>> = plant_entry::table
        .filter(plant_entry::kind.eq(EntryKind::Boxes))
        .filter(plant_entry::answer.eq(EntryAnswer::Taken))
        .filter(plant_entry::reservation_id.is_not_null())
        .select(plant_entry::reservation_id)
        .distinct()
        .order(plant_entry::reservation_id.desc())
        .limit(limit)
        .load(c)?;
    let all: BTreeSet<ReservationId> = told.into_iter().chain(entered.into_iter().flatten()).collect();
    Ok(all.into_iter().rev().take(most).collect())
}

/// Adds a revision.
///
/// # Errors
/// The database's own; a second one of the same revision is refused by the table.
pub fn insert(tx: &mut Tx, new: &NewPackagedWeight) -> QueryResult<()> {
    diesel::insert_into(packaged_weight::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// The day and plant of these dates.
///
/// # Errors
/// The database's own.
pub fn plants_of(c: &mut DbConn, dates: &[DateId]) -> QueryResult<HashMap<DateId, (NaiveDate, ProcessorId, String)>> {
    let rows: Vec<(DateId, NaiveDate, ProcessorId, String)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq_any(dates.to_vec()))
        .select((processing_date::id, processing_date::kill_on, processor::id, processor::name))
        .load(c)?;
    Ok(rows.into_iter().map(|(date, on, plant, name)| (date, (on, plant, name))).collect())
}
