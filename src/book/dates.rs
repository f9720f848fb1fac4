//! Processing dates: booked days at a plant, their slots, and what is on them.

use super::conn::DbConn;
use super::ids::{AnimalId, DateId, ProcessorId};
use super::rows::plants::{DateSlot, NewProcessingDate, ProcessingDate, Processor};
use super::schema::{animal, date_slot, placement, processing_date, processor, weigh_in};
use super::store::Tx;
use crate::trade::share::Species;
use crate::trade::vocabulary::Inspection;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// One processing date.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn get(c: &mut DbConn, id: DateId) -> QueryResult<(ProcessingDate, Processor)> {
    processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq(id))
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .first(c)
}

/// Books a date.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewProcessingDate) -> QueryResult<DateId> {
    diesel::insert_into(processing_date::table).values(new.clone()).returning(processing_date::id).get_result(tx.conn())
}

/// Saves a date if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &ProcessingDate, version: i64) -> QueryResult<bool> {
    let next = ProcessingDate { version: version.saturating_add(1), ..changed.clone() };
    let row =
        processing_date::table.filter(processing_date::id.eq(changed.id)).filter(processing_date::version.eq(version));
    Ok(diesel::update(row).set(next).execute(tx.conn())? == 1)
}

/// Head slots booked, by date and species; species without slots are left out.
///
/// # Errors
/// The database's own.
pub fn slots(c: &mut DbConn, dates: &[DateId]) -> QueryResult<Vec<DateSlot>> {
    date_slot::table
        .filter(date_slot::date_id.eq_any(dates.to_vec()))
        .filter(date_slot::head.gt(0))
        .order((date_slot::date_id.asc(), date_slot::species.asc()))
        .select(DateSlot::as_select())
        .load(c)
}

/// Replaces a date's slots.
///
/// # Errors
/// The database's own.
pub fn set_slots(tx: &mut Tx, date_id: DateId, head: &[(Species, i64)]) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(date_slot::table.filter(date_slot::date_id.eq(date_id))).execute(c)?;
    for (species, head) in head.iter().filter(|(_, head)| *head > 0) {
        diesel::insert_into(date_slot::table)
            .values(DateSlot { date_id, species: *species, head: *head })
            .execute(c)?;
    }
    Ok(())
}

/// The dates from `today` on that were not cancelled, soonest first; at most 100.
///
/// # Errors
/// The database's own.
pub fn coming(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<(ProcessingDate, Processor)>> {
    processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::kill_on.ge(today))
        .filter(processing_date::cancelled_at.is_null())
        .order((processing_date::kill_on.asc(), processing_date::id.asc()))
        .limit(100)
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .load(c)
}

/// The dates before `today` and the cancelled ones, latest first, older than `before`.
///
/// # Errors
/// The database's own.
pub fn past(
    c: &mut DbConn,
    today: NaiveDate,
    before: Option<(NaiveDate, DateId)>,
    limit: i64,
) -> QueryResult<Vec<(ProcessingDate, Processor)>> {
    use processing_date::{cancelled_at, id, kill_on};
    let mut query = processing_date::table
        .inner_join(processor::table)
        .filter(kill_on.lt(today).or(cancelled_at.is_not_null()))
        .order((kill_on.desc(), id.desc()))
        .limit(limit)
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .into_boxed();
    if let Some((day, last)) = before {
        query = query.filter(kill_on.lt(day).or(kill_on.eq(day).and(id.lt(last))));
    }
    query.load(c)
}

/// The dates of one plant from `today` on.
///
/// # Errors
/// The database's own.
pub fn of_processor(c: &mut DbConn, plant: ProcessorId, today: NaiveDate) -> QueryResult<Vec<ProcessingDate>> {
    processing_date::table
        .filter(processing_date::processor_id.eq(plant))
        .filter(processing_date::kill_on.ge(today))
        .filter(processing_date::cancelled_at.is_null())
        .order((processing_date::kill_on.asc(), processing_date::id.asc()))
        .limit(50)
        .select(ProcessingDate::as_select())
        .load(c)
}

/// One head on a date, as far as counting goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeadOn {
    /// The date.
    pub date: DateId,
    /// The animal.
    pub animal: AnimalId,
    /// Its species.
    pub species: Species,
    /// Whether its weight, or that it was condemned, is recorded.
    pub weighed: bool,
    /// How many of its quarters nobody has.
    pub free_quarters: i64,
}

/// The head on these dates that were not lost.
///
/// # Errors
/// The database's own.
pub fn head_on(c: &mut DbConn, dates: &[DateId]) -> QueryResult<Vec<HeadOn>> {
    let rows: Vec<(Option<DateId>, AnimalId, Species, Option<AnimalId>)> = animal::table
        .left_join(weigh_in::table)
        .filter(animal::date_id.eq_any(dates.to_vec()))
        .filter(animal::lost_on.is_null())
        .order(animal::id.asc())
        .select((animal::date_id, animal::id, animal::species, weigh_in::animal_id.nullable()))
        .load(c)?;
    let ids: Vec<_> = rows.iter().map(|r| r.1).collect();
    let taken: Vec<(AnimalId, i64)> = placement::table
        .filter(placement::animal_id.eq_any(ids))
        .group_by(placement::animal_id)
        .select((placement::animal_id, diesel::dsl::count_star()))
        .load(c)?;
    let taken: HashMap<_, _> = taken.into_iter().collect();
    Ok(rows
        .into_iter()
        .filter_map(|(date, animal, species, weighed)| {
            Some(HeadOn {
                date: date?,
                animal,
                species,
                weighed: weighed.is_some(),
                free_quarters: 4 - taken.get(&animal).copied().unwrap_or(0),
            })
        })
        .collect())
}

/// A date that needs somebody: for Today.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DateDue {
    /// The date.
    pub date: DateId,
    /// The day of slaughter.
    pub kill_on: NaiveDate,
    /// Until when cutting instructions are due, if set.
    pub sheets_due: Option<NaiveDate>,
    /// The plant.
    pub processor: String,
    /// How many head on it (without weight), or how many quarters free, as the query says.
    pub count: i64,
}

/// Dates that are past and have head without a weight, oldest first; `count` is their number.
///
/// # Errors
/// The database's own.
pub fn without_weights(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<DateDue>> {
    let rows: Vec<(DateId, NaiveDate, Option<NaiveDate>, String)> = animal::table
        .inner_join(processing_date::table.inner_join(processor::table))
        .left_join(weigh_in::table)
        .filter(processing_date::kill_on.le(today))
        .filter(processing_date::cancelled_at.is_null())
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order((processing_date::kill_on.asc(), processing_date::id.asc()))
        .select((processing_date::id, processing_date::kill_on, processing_date::sheets_due, processor::name))
        .load(c)?;
    let mut found: Vec<DateDue> = Vec::new();
    for (date, kill_on, sheets_due, processor) in rows {
        match found.last_mut().filter(|due| due.date == date) {
            Some(due) => due.count += 1,
            None => found.push(DateDue { date, kill_on, sheets_due, processor, count: 1 }),
        }
    }
    Ok(found)
}

/// Coming dates at custom-exempt plants with quarters nobody has, soonest first; `count` is how many.
///
/// # Errors
/// The database's own.
pub fn custom_exempt_free(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<DateDue>> {
    let dates: Vec<_> =
        coming(c, today)?.into_iter().filter(|(_, plant)| plant.inspection == Inspection::Custom).collect();
    let ids: Vec<_> = dates.iter().map(|(d, _)| d.id).collect();
    let head = head_on(c, &ids)?;
    Ok(dates
        .into_iter()
        .map(|(d, plant)| DateDue {
            date: d.id,
            kill_on: d.kill_on,
            sheets_due: d.sheets_due,
            processor: plant.name,
            count: head.iter().filter(|h| h.date == d.id).map(|h| h.free_quarters).sum(),
        })
        .filter(|d| d.count > 0)
        .collect())
}
