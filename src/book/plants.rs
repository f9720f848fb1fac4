//! Processors and their schedules of charges.

use super::at::At;
use super::conn::DbConn;
use super::ids::{ChargeId, ProcessorId};
use super::rows::plants::{NewProcessor, NewProcessorCharge, Processor, ProcessorCharge};
use super::schema::{processor, processor_charge};
use super::store::Tx;
use crate::trade::share::{Size, Species};
use diesel::prelude::*;

impl ProcessorCharge {
    /// Whether the charge is for that share.
    pub fn applies(&self, species: Species, size: Size) -> bool {
        self.retired_at.is_none()
            && self.species.is_none_or(|own| own == species)
            && self.size.is_none_or(|own| own == size)
    }
}

/// Every processor by name; retired ones too if asked.
///
/// # Errors
/// The database's own.
pub fn list(c: &mut DbConn, with_retired: bool) -> QueryResult<Vec<Processor>> {
    let mut query = processor::table
        .select(Processor::as_select())
        .order((processor::name.asc(), processor::id.asc()))
        .limit(500)
        .into_boxed();
    if !with_retired {
        query = query.filter(processor::retired_at.is_null());
    }
    query.load(c)
}

/// One processor.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn get(c: &mut DbConn, id: ProcessorId) -> QueryResult<Processor> {
    processor::table.find(id).select(Processor::as_select()).first(c)
}

/// Adds a processor.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewProcessor) -> QueryResult<ProcessorId> {
    diesel::insert_into(processor::table).values(new.clone()).returning(processor::id).get_result(tx.conn())
}

/// Saves a processor if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Processor, version: i64) -> QueryResult<bool> {
    let next = Processor { version: version.saturating_add(1), ..changed.clone() };
    let row = processor::table.filter(processor::id.eq(changed.id)).filter(processor::version.eq(version));
    Ok(diesel::update(row).set(next).execute(tx.conn())? == 1)
}

/// A plant's charges in order, without the retired ones.
///
/// # Errors
/// The database's own.
pub fn charges(c: &mut DbConn, id: ProcessorId) -> QueryResult<Vec<ProcessorCharge>> {
    processor_charge::table
        .filter(processor_charge::processor_id.eq(id))
        .filter(processor_charge::retired_at.is_null())
        .order((processor_charge::position.asc(), processor_charge::id.asc()))
        .select(ProcessorCharge::as_select())
        .load(c)
}

/// One charge.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn charge(c: &mut DbConn, id: ChargeId) -> QueryResult<ProcessorCharge> {
    processor_charge::table.find(id).select(ProcessorCharge::as_select()).first(c)
}

/// Adds a charge at the end of its plant's schedule.
///
/// # Errors
/// The database's own.
pub fn add_charge(tx: &mut Tx, new: &NewProcessorCharge) -> QueryResult<ChargeId> {
    let c = tx.conn();
    let last: Option<i64> = processor_charge::table
        .filter(processor_charge::processor_id.eq(new.processor_id))
        .select(diesel::dsl::max(processor_charge::position))
        .first(c)?;
    let new = NewProcessorCharge { position: last.unwrap_or(0).saturating_add(1), ..new.clone() };
    diesel::insert_into(processor_charge::table).values(new).returning(processor_charge::id).get_result(c)
}

/// Saves a charge as it is given. Who may is decided by the version of its plant.
///
/// # Errors
/// The database's own.
pub fn save_charge(tx: &mut Tx, changed: &ProcessorCharge) -> QueryResult<()> {
    diesel::update(processor_charge::table.find(changed.id)).set(changed.clone()).execute(tx.conn())?;
    Ok(())
}

/// Takes a charge off the schedule; invoices already issued keep it.
///
/// # Errors
/// The database's own.
pub fn retire_charge(tx: &mut Tx, id: ChargeId, at: At) -> QueryResult<bool> {
    let row =
        processor_charge::table.filter(processor_charge::id.eq(id)).filter(processor_charge::retired_at.is_null());
    Ok(diesel::update(row).set(processor_charge::retired_at.eq(Some(at))).execute(tx.conn())? == 1)
}
