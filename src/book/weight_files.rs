//! Files of weights on their way into the book, those that were taken, and which column of a processor's files is which.

use super::at::At;
use super::conn::DbConn;
use super::ids::{DateId, ProcessorId, WeightFileId};
use super::rows::plant_page::{NewWeightFile, ProcessorColumns, WeightFile, WeightFileTaken};
use super::schema::{processor_columns, weight_file, weight_file_taken};
use super::store::Tx;
use diesel::prelude::*;

/// Files of one date that wait at most; older ones give way.
const WAITING: i64 = 5;

/// Keeps a file, and forgets those from before `before` and more than a few of the same date.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewWeightFile, before: At) -> QueryResult<WeightFileId> {
    let c = tx.conn();
    diesel::delete(weight_file::table.filter(weight_file::made_at.lt(before))).execute(c)?;
    let id = diesel::insert_into(weight_file::table).values(new.clone()).returning(weight_file::id).get_result(c)?;
    let kept: Vec<WeightFileId> = weight_file::table
        .filter(weight_file::date_id.eq(new.date_id))
        .order(weight_file::id.desc())
        .limit(WAITING)
        .select(weight_file::id)
        .load(c)?;
    if let Some(oldest) = kept.last() {
        let of_date = weight_file::table.filter(weight_file::date_id.eq(new.date_id));
        diesel::delete(of_date.filter(weight_file::id.lt(*oldest))).execute(c)?;
    }
    Ok(id)
}

/// A file of a date that waits.
///
/// # Errors
/// Not found when it was taken or forgotten; the database's own.
pub fn get(c: &mut DbConn, date: DateId, id: WeightFileId) -> QueryResult<WeightFile> {
    weight_file::table
        .filter(weight_file::id.eq(id))
        .filter(weight_file::date_id.eq(date))
        .select(WeightFile::as_select())
        .first(c)
}

/// The files of a date that wait, the newest first: their names and when they were sent.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn, date: DateId) -> QueryResult<Vec<(WeightFileId, String, At)>> {
    weight_file::table
        .filter(weight_file::date_id.eq(date))
        .order(weight_file::id.desc())
        .select((weight_file::id, weight_file::name, weight_file::made_at))
        .load(c)
}

/// Forgets a file.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, id: WeightFileId) -> QueryResult<()> {
    diesel::delete(weight_file::table.filter(weight_file::id.eq(id))).execute(tx.conn())?;
    Ok(())
}

/// When this file was taken for this date, if it was.
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, date: DateId, digest: &str) -> QueryResult<Option<WeightFileTaken>> {
    weight_file_taken::table
        .filter(weight_file_taken::date_id.eq(date))
        .filter(weight_file_taken::digest.eq(digest.to_string()))
        .select(WeightFileTaken::as_select())
        .first(c)
        .optional()
}

/// Writes down that a file was taken; the last time counts.
///
/// # Errors
/// The database's own.
pub fn mark_taken(tx: &mut Tx, row: &WeightFileTaken) -> QueryResult<()> {
    let same = weight_file_taken::table
        .filter(weight_file_taken::date_id.eq(row.date_id))
        .filter(weight_file_taken::digest.eq(row.digest.clone()));
    diesel::delete(same).execute(tx.conn())?;
    diesel::insert_into(weight_file_taken::table).values(row.clone()).execute(tx.conn())?;
    Ok(())
}

/// What is remembered of a processor's columns, as JSON.
///
/// # Errors
/// The database's own.
pub fn columns(c: &mut DbConn, plant: ProcessorId) -> QueryResult<Option<ProcessorColumns>> {
    processor_columns::table
        .filter(processor_columns::processor_id.eq(plant))
        .select(ProcessorColumns::as_select())
        .first(c)
        .optional()
}

/// Remembers a processor's columns instead of what was remembered before.
///
/// # Errors
/// The database's own.
pub fn put_columns(tx: &mut Tx, row: &ProcessorColumns) -> QueryResult<()> {
    let old = processor_columns::table.filter(processor_columns::processor_id.eq(row.processor_id));
    diesel::delete(old).execute(tx.conn())?;
    diesel::insert_into(processor_columns::table).values(row.clone()).execute(tx.conn())?;
    Ok(())
}
