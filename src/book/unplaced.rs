//! Orders that have no place on an animal yet, and what placing them needs to know.

use super::conn::DbConn;
use super::ids::ReservationId;
use super::rows::selling::{Offering, Reservation};
use super::schema::{customer, offering, placement, reservation};
use super::store::Tx;
use crate::trade::share::{Part, Size, Species};
use diesel::prelude::*;
use std::collections::HashMap;

/// These orders with what they are for and the customer's name.
///
/// # Errors
/// The database's own.
pub fn orders(
    c: &mut DbConn,
    ids: &[ReservationId],
) -> QueryResult<HashMap<ReservationId, (Reservation, Offering, String)>> {
    let rows: Vec<(Reservation, Offering, String)> = reservation::table
        .inner_join(offering::table)
        .inner_join(customer::table)
        .filter(reservation::id.eq_any(ids.to_vec()))
        .select((Reservation::as_select(), Offering::as_select(), customer::name))
        .load(c)?;
    Ok(rows.into_iter().map(|row| (row.0.id, row)).collect())
}

/// An order without a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplaced {
    /// The order.
    pub reservation: ReservationId,
    /// Its number.
    pub number: String,
    /// The customer's name.
    pub name: String,
    /// What it is for.
    pub species: Species,
    /// Whole, half or quarter.
    pub size: Size,
    /// What kind of quarter.
    pub part: Option<Part>,
    /// Its place on the waiting list, counted from 1, or `None` when it is not on it.
    pub waiting: Option<usize>,
}

/// Orders for a species that have no place: first those that are sold, then the waiting list in order of time; at most 200.
///
/// # Errors
/// The database's own.
pub fn of_species(c: &mut DbConn, species: Species) -> QueryResult<Vec<Unplaced>> {
    let rows: Vec<(Reservation, String)> = reservation::table
        .inner_join(offering::table)
        .inner_join(customer::table)
        .filter(offering::species.eq(species))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::collected_at.is_null())
        .filter(diesel::dsl::not(diesel::dsl::exists(
            placement::table.filter(placement::reservation_id.eq(reservation::id)),
        )))
        .order((reservation::id.desc(),))
        .limit(200)
        .select((Reservation::as_select(), customer::name))
        .load(c)?;
    let mut rows: Vec<_> = rows.into_iter().rev().collect();
    rows.sort_by_key(|(r, _)| (r.waiting_since.is_some(), r.waiting_since, r.id));
    let mut waiting = 0;
    Ok(rows
        .into_iter()
        .map(|(r, name)| {
            waiting += usize::from(r.waiting_since.is_some());
            Unplaced {
                reservation: r.id,
                number: r.number,
                name,
                species,
                size: r.size,
                part: r.part,
                waiting: r.waiting_since.map(|_| waiting),
            }
        })
        .collect())
}

/// Takes an order off the waiting list if nobody changed it since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn off_waiting_list(tx: &mut Tx, id: ReservationId, version: i64) -> QueryResult<bool> {
    let row = reservation::table.filter(reservation::id.eq(id)).filter(reservation::version.eq(version));
    let changed = diesel::update(row)
        .set((reservation::waiting_since.eq(None::<super::at::At>), reservation::version.eq(version.saturating_add(1))))
        .execute(tx.conn())?;
    Ok(changed == 1)
}
