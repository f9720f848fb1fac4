//! Offers to people on the waiting list. While one is open, its share is held: it counts as sold.

use super::at::At;
use super::conn::DbConn;
use super::ids::{OfferingId, ReservationId};
use super::rows::waiting::NewWaitingOffer;
use super::schema::{customer, offering, reservation, waiting_offer};
use super::store::Tx;
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::OfferEnd;
use chrono::NaiveDate;
use diesel::prelude::*;

/// An offer that is not answered yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenOffer {
    /// The order that waits.
    pub reservation: ReservationId,
    /// What it is held of.
    pub offering: OfferingId,
    /// Whose it is.
    pub name: String,
    /// Its size.
    pub size: Size,
    /// Its part.
    pub part: Option<Part>,
    /// The species.
    pub species: Species,
    /// The season.
    pub season: String,
    /// The last day to answer.
    pub answer_by: NaiveDate,
}

/// Adds an open offer.
///
/// # Errors
/// The database's own; a second open offer for one order is refused by the table.
pub fn insert(tx: &mut Tx, new: &NewWaitingOffer) -> QueryResult<()> {
    diesel::insert_into(waiting_offer::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Ends the open offer of an order; `false` when there is none.
///
/// # Errors
/// The database's own.
pub fn close(tx: &mut Tx, order: ReservationId, outcome: OfferEnd, at: At) -> QueryResult<bool> {
    let row =
        waiting_offer::table.filter(waiting_offer::reservation_id.eq(order)).filter(waiting_offer::outcome.is_null());
    let n = diesel::update(row)
        .set((waiting_offer::outcome.eq(outcome), waiting_offer::closed_at.eq(at)))
        .execute(tx.conn())?;
    Ok(n > 0)
}

/// The shares held of these offerings for somebody who was asked.
///
/// # Errors
/// The database's own.
pub fn held(c: &mut DbConn, ids: &[OfferingId]) -> QueryResult<Vec<(OfferingId, Size, Option<Part>)>> {
    waiting_offer::table
        .inner_join(reservation::table)
        .filter(waiting_offer::offering_id.eq_any(ids.to_vec()))
        .filter(waiting_offer::outcome.is_null())
        .select((waiting_offer::offering_id, reservation::size, reservation::part))
        .load(c)
}

/// The offers that are open, the first to lapse first.
///
/// # Errors
/// The database's own.
pub fn open(c: &mut DbConn) -> QueryResult<Vec<OpenOffer>> {
    type Row = (ReservationId, OfferingId, String, Size, Option<Part>, Species, String, NaiveDate);
    let rows: Vec<Row> = waiting_offer::table
        .inner_join(reservation::table.inner_join(customer::table).inner_join(offering::table))
        .filter(waiting_offer::outcome.is_null())
        .order((waiting_offer::answer_by, waiting_offer::id))
        .select((
            reservation::id,
            offering::id,
            customer::name,
            reservation::size,
            reservation::part,
            offering::species,
            offering::season,
            waiting_offer::answer_by,
        ))
        .load(c)?;
    Ok(rows
        .into_iter()
        .map(|(reservation, offering, name, size, part, species, season, answer_by)| OpenOffer {
            reservation,
            offering,
            name,
            size,
            part,
            species,
            season,
            answer_by,
        })
        .collect())
}

/// The last day to answer the open offer of an order; `None` when nothing is offered.
///
/// # Errors
/// The database's own.
pub fn answer_by(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<NaiveDate>> {
    waiting_offer::table
        .filter(waiting_offer::reservation_id.eq(order))
        .filter(waiting_offer::outcome.is_null())
        .select(waiting_offer::answer_by)
        .first(c)
        .optional()
}

/// Open offers whose last day is before `today`, oldest first: the order, and what was held of.
///
/// # Errors
/// The database's own.
pub fn past(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<(ReservationId, OfferingId)>> {
    waiting_offer::table
        .filter(waiting_offer::outcome.is_null())
        .filter(waiting_offer::answer_by.lt(today))
        .order((waiting_offer::answer_by, waiting_offer::id))
        .select((waiting_offer::reservation_id, waiting_offer::offering_id))
        .load(c)
}

/// Somebody in line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InLine {
    /// The order.
    pub reservation: ReservationId,
    /// Of what.
    pub offering: OfferingId,
    /// Whose it is.
    pub name: String,
    /// Its size.
    pub size: Size,
    /// Its part.
    pub part: Option<Part>,
    /// How the last offer to it ended, `None` when none was made or it is open.
    pub last: Option<OfferEnd>,
    /// Whether a share is held for it now.
    pub is_open: bool,
}

/// The waiting lists of these offerings, each in its order.
///
/// # Errors
/// The database's own.
pub fn line(c: &mut DbConn, ids: &[OfferingId]) -> QueryResult<Vec<InLine>> {
    let rows: Vec<(ReservationId, OfferingId, String, Size, Option<Part>)> = reservation::table
        .inner_join(customer::table)
        .filter(reservation::offering_id.eq_any(ids.to_vec()))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_not_null())
        .order((reservation::offering_id, reservation::waiting_since, reservation::id))
        .limit(500)
        .select((reservation::id, reservation::offering_id, customer::name, reservation::size, reservation::part))
        .load(c)?;
    let orders: Vec<_> = rows.iter().map(|r| r.0).collect();
    let asked: Vec<(ReservationId, Option<OfferEnd>)> = waiting_offer::table
        .filter(waiting_offer::reservation_id.eq_any(orders))
        .order(waiting_offer::id)
        .select((waiting_offer::reservation_id, waiting_offer::outcome))
        .load(c)?;
    Ok(rows
        .into_iter()
        .map(|(reservation, offering, name, size, part)| {
            let last = asked.iter().rev().find(|a| a.0 == reservation).map(|a| a.1);
            InLine { reservation, offering, name, size, part, last: last.flatten(), is_open: last == Some(None) }
        })
        .collect())
}
