//! Lists on their way into the book, those that were taken, which column is which, and what is in the book already, read at once.

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, ImportFileId, InvoiceId, OfferingId, ReservationId};
use super::rows::imports::{ImportColumns, ImportFile, ImportTaken, NewImportFile};
use super::rows::selling::{Offering, Price};
use super::schema::{
    animal, customer, import_columns, import_file, import_taken, invoice, offering, payment, price, reservation,
    weigh_in,
};
use super::store::Tx;
use crate::trade::money::Money;
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::{PayMethod, PaymentKind};
use chrono::NaiveDate;
use diesel::prelude::*;

/// Lists that wait at most; older ones give way.
const WAITING: i64 = 5;

/// Keeps a list, and forgets those from before `before` and more than a few.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewImportFile, before: At) -> QueryResult<ImportFileId> {
    let c = tx.conn();
    diesel::delete(import_file::table.filter(import_file::made_at.lt(before))).execute(c)?;
    let id = diesel::insert_into(import_file::table).values(new.clone()).returning(import_file::id).get_result(c)?;
    let kept: Vec<ImportFileId> =
        import_file::table.order(import_file::id.desc()).limit(WAITING).select(import_file::id).load(c)?;
    if let Some(oldest) = kept.last() {
        diesel::delete(import_file::table.filter(import_file::id.lt(*oldest))).execute(c)?;
    }
    Ok(id)
}

/// A list that waits.
///
/// # Errors
/// Not found when it was taken or forgotten, or is of another kind; the database's own.
pub fn get(c: &mut DbConn, kind: &str, id: ImportFileId) -> QueryResult<ImportFile> {
    import_file::table
        .filter(import_file::id.eq(id))
        .filter(import_file::kind.eq(kind.to_string()))
        .select(ImportFile::as_select())
        .first(c)
}

/// Forgets a list.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, id: ImportFileId) -> QueryResult<()> {
    diesel::delete(import_file::table.filter(import_file::id.eq(id))).execute(tx.conn())?;
    Ok(())
}

/// When this list was taken, if it was.
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, kind: &str, digest: &str) -> QueryResult<Option<ImportTaken>> {
    import_taken::table
        .filter(import_taken::kind.eq(kind.to_string()))
        .filter(import_taken::digest.eq(digest.to_string()))
        .select(ImportTaken::as_select())
        .first(c)
        .optional()
}

/// The lists that were taken last, the newest first.
///
/// # Errors
/// The database's own.
pub fn taken_last(c: &mut DbConn, most: i64) -> QueryResult<Vec<ImportTaken>> {
    import_taken::table.order(import_taken::taken_at.desc()).limit(most).select(ImportTaken::as_select()).load(c)
}

/// Writes down that a list was taken; the last time counts.
///
/// # Errors
/// The database's own.
pub fn mark_taken(tx: &mut Tx, row: &ImportTaken) -> QueryResult<()> {
    let same = import_taken::table
        .filter(import_taken::kind.eq(row.kind.clone()))
        .filter(import_taken::digest.eq(row.digest.clone()));
    diesel::delete(same).execute(tx.conn())?;
    diesel::insert_into(import_taken::table).values(row.clone()).execute(tx.conn())?;
    Ok(())
}

/// What is remembered of the columns of a kind, as JSON.
///
/// # Errors
/// The database's own.
pub fn columns(c: &mut DbConn, kind: &str) -> QueryResult<Option<ImportColumns>> {
    import_columns::table
        .filter(import_columns::kind.eq(kind.to_string()))
        .select(ImportColumns::as_select())
        .first(c)
        .optional()
}

/// Remembers the columns of a kind instead of what was remembered before.
///
/// # Errors
/// The database's own.
pub fn put_columns(tx: &mut Tx, row: &ImportColumns) -> QueryResult<()> {
    diesel::delete(import_columns::table.filter(import_columns::kind.eq(row.kind.clone()))).execute(tx.conn())?;
    diesel::insert_into(import_columns::table).values(row.clone()).execute(tx.conn())?;
    Ok(())
}

/// Every customer: id, name, mail address, phone; in order of entry.
///
/// # Errors
/// The database's own.
pub fn customers(c: &mut DbConn) -> QueryResult<Vec<(CustomerId, String, String, String)>> {
    customer::table.order(customer::id).select((customer::id, customer::name, customer::mail, customer::phone)).load(c)
}

/// Every offering, in order of entry.
///
/// # Errors
/// The database's own.
pub fn offerings(c: &mut DbConn) -> QueryResult<Vec<Offering>> {
    offering::table.order(offering::id).select(Offering::as_select()).load(c)
}

/// Every price, in order of entry.
///
/// # Errors
/// The database's own.
pub fn prices(c: &mut DbConn) -> QueryResult<Vec<Price>> {
    price::table.order(price::id).select(Price::as_select()).load(c)
}

/// Species and tag of every head that is neither lost nor weighed in.
///
/// # Errors
/// The database's own.
pub fn living(c: &mut DbConn) -> QueryResult<Vec<(Species, String)>> {
    animal::table
        .left_join(weigh_in::table)
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .select((animal::species, animal::tag))
        .load(c)
}

/// The open reservations: whose, of what, how much.
///
/// # Errors
/// The database's own.
pub fn claims(c: &mut DbConn) -> QueryResult<Vec<(CustomerId, OfferingId, Size, Option<Part>)>> {
    reservation::table
        .filter(reservation::cancelled_at.is_null())
        .select((reservation::customer_id, reservation::offering_id, reservation::size, reservation::part))
        .load(c)
}

/// What came in: from whom, on which day, how much, how, with which reference.
///
/// # Errors
/// The database's own.
pub fn received(c: &mut DbConn) -> QueryResult<Vec<(CustomerId, NaiveDate, Money, PayMethod, String)>> {
    payment::table
        .filter(payment::kind.eq(PaymentKind::Received))
        .select((payment::customer_id, payment::received_on, payment::amount, payment::method, payment::reference))
        .load(c)
}

/// The numbers of all orders, with whose they are.
///
/// # Errors
/// The database's own.
pub fn order_numbers(c: &mut DbConn) -> QueryResult<Vec<(String, ReservationId, CustomerId)>> {
    reservation::table.select((reservation::number, reservation::id, reservation::customer_id)).load(c)
}

/// The numbers of all invoices, with whose they are.
///
/// # Errors
/// The database's own.
pub fn invoice_numbers(c: &mut DbConn) -> QueryResult<Vec<(String, InvoiceId, CustomerId)>> {
    invoice::table.select((invoice::number, invoice::id, invoice::customer_id)).load(c)
}
