//! Offerings and their price lists.

use super::conn::DbConn;
use super::ids::OfferingId;
use super::rows::selling::{NewOffering, NewPrice, Offering, Price};
use super::schema::{offering, price, reservation};
use super::store::Tx;
use crate::trade::share::{Part, Size};
use chrono::NaiveDate;
use diesel::prelude::*;

/// Adds an offering.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewOffering) -> QueryResult<OfferingId> {
    diesel::insert_into(offering::table).values(new.clone()).returning(offering::id).get_result(tx.conn())
}

/// One offering.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: OfferingId) -> QueryResult<Offering> {
    offering::table.find(id).select(Offering::as_select()).first(c)
}

/// Saves an offering if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Offering, version: i64) -> QueryResult<bool> {
    let next = Offering { version: version.saturating_add(1), ..changed.clone() };
    let n = diesel::update(offering::table.filter(offering::id.eq(changed.id)).filter(offering::version.eq(version)))
        .set(next)
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// The offerings that are open, newest first.
///
/// # Errors
/// The database's own.
pub fn open(c: &mut DbConn) -> QueryResult<Vec<Offering>> {
    offering::table
        .filter(offering::closed_at.is_null())
        .order(offering::id.desc())
        .limit(100)
        .select(Offering::as_select())
        .load(c)
}

/// The offerings that are closed, newest first.
///
/// # Errors
/// The database's own.
pub fn closed(c: &mut DbConn) -> QueryResult<Vec<Offering>> {
    offering::table
        .filter(offering::closed_at.is_not_null())
        .order(offering::id.desc())
        .limit(100)
        .select(Offering::as_select())
        .load(c)
}

/// Adds a price; prices are never changed.
///
/// # Errors
/// The database's own.
pub fn add_price(tx: &mut Tx, new: &NewPrice) -> QueryResult<()> {
    diesel::insert_into(price::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// The price in force on a day.
///
/// # Errors
/// The database's own.
pub fn price_on(c: &mut DbConn, id: OfferingId, size: Size, day: NaiveDate) -> QueryResult<Option<Price>> {
    price::table
        .filter(price::offering_id.eq(id))
        .filter(price::size.eq(size))
        .filter(price::effective_from.le(day))
        .order((price::effective_from.desc(), price::id.desc()))
        .select(Price::as_select())
        .first(c)
        .optional()
}

/// Every price of these offerings, newest first.
///
/// # Errors
/// The database's own.
pub fn prices(c: &mut DbConn, ids: &[OfferingId]) -> QueryResult<Vec<Price>> {
    price::table
        .filter(price::offering_id.eq_any(ids.to_vec()))
        .order((price::effective_from.desc(), price::id.desc()))
        .select(Price::as_select())
        .load(c)
}

/// The shares of these offerings that have their place or wait: (offering, size, part, waiting).
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, ids: &[OfferingId]) -> QueryResult<Vec<(OfferingId, Size, Option<Part>, bool)>> {
    reservation::table
        .filter(reservation::offering_id.eq_any(ids.to_vec()))
        .filter(reservation::cancelled_at.is_null())
        .select((
            reservation::offering_id,
            reservation::size,
            reservation::part,
            reservation::waiting_since.is_not_null(),
        ))
        .load(c)
}
