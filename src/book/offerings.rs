//! Offerings and their price lists.

use super::conn::DbConn;
use super::ids::OfferingId;
use super::rows::selling::{NewOffering, NewPrice, Offering, Price};
use super::schema::{offering, price, reservation};
use super::store::Tx;
use crate::trade::room::Sold;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::QuarterPart;
use chrono::NaiveDate;
use diesel::dsl::count_star;
use diesel::prelude::*;
use std::collections::HashMap;

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

/// What is taken of an offering.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Taken {
    /// Shares that have their place, and those held while they are offered to somebody.
    pub sold: Sold,
    /// How many of them are held.
    pub offered: i64,
    /// Reservations on the waiting list.
    pub waiting: i64,
}

/// What is taken of these offerings; those without a reservation are left out.
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, ids: &[OfferingId]) -> QueryResult<HashMap<OfferingId, Taken>> {
    let open = || {
        reservation::table
            .filter(reservation::offering_id.eq_any(ids.to_vec()))
            .filter(reservation::cancelled_at.is_null())
    };
    let held: Vec<(OfferingId, Size, Option<Part>, i64)> = open()
        .filter(reservation::waiting_since.is_null())
        .group_by((reservation::offering_id, reservation::size, reservation::part))
        .select((reservation::offering_id, reservation::size, reservation::part, count_star()))
        .load(c)?;
    let waiting: Vec<(OfferingId, i64)> = open()
        .filter(reservation::waiting_since.is_not_null())
        .group_by(reservation::offering_id)
        .select((reservation::offering_id, count_star()))
        .load(c)?;
    let mut out: HashMap<OfferingId, Taken> = HashMap::new();
    for (id, size, part, n) in held {
        let one = out.entry(id).or_default();
        one.sold = one.sold.and(size, part, n);
    }
    for (id, size, part) in super::waiting_offers::held(c, ids)? {
        let one = out.entry(id).or_default();
        one.sold = one.sold.and(size, part, 1);
        one.offered = one.offered.saturating_add(1);
    }
    for (id, n) in waiting {
        out.entry(id).or_default().waiting = n;
    }
    Ok(out)
}

impl Offering {
    /// The kinds of share it sells: size, and which quarter.
    pub fn kinds(&self) -> Vec<(Size, Option<Part>)> {
        let mut kinds = Vec::new();
        if self.sells_whole {
            kinds.push((Size::Whole, None));
        }
        if self.sells_half {
            kinds.push((Size::Half, None));
        }
        match (self.sells_quarter, self.quarter_part) {
            (false, _) => {}
            (true, QuarterPart::Split) => kinds.push((Size::Quarter, Some(Part::Split))),
            (true, QuarterPart::ForeHind) => {
                kinds.extend([(Size::Quarter, Some(Part::Fore)), (Size::Quarter, Some(Part::Hind))]);
            }
        }
        kinds
    }
}
