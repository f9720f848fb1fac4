//! Cut sheets that were begun and not sent, and the sheet a customer sent last time.

use super::conn::DbConn;
use super::ids::{CustomerId, ReservationId};
use super::rows::selling::{Offering, Reservation};
use super::rows::sheets::{CutSheet, SheetDraft};
use super::schema::{cut_sheet, offering, reservation, sheet_draft};
use super::store::Tx;
use crate::trade::share::Species;
use crate::trade::vocabulary::SheetOrigin;
use diesel::prelude::*;
use std::collections::HashMap;

/// The drafts of these orders; those without one are left out.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, SheetDraft>> {
    let rows: Vec<SheetDraft> = sheet_draft::table
        .filter(sheet_draft::reservation_id.eq_any(orders.to_vec()))
        .select(SheetDraft::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|d| (d.reservation_id, d)).collect())
}

/// Adds the draft of an order.
///
/// # Errors
/// The database's own; a unique violation when there is one.
pub fn add(tx: &mut Tx, new: &SheetDraft) -> QueryResult<()> {
    diesel::insert_into(sheet_draft::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Saves a changed draft if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &SheetDraft, version: i64) -> QueryResult<bool> {
    let next = SheetDraft { version: version.saturating_add(1), ..changed.clone() };
    let mine = sheet_draft::table
        .filter(sheet_draft::reservation_id.eq(changed.reservation_id))
        .filter(sheet_draft::version.eq(version));
    Ok(diesel::update(mine).set(next).execute(tx.conn())? == 1)
}

/// Takes a draft away.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, order: ReservationId) -> QueryResult<()> {
    diesel::delete(sheet_draft::table.filter(sheet_draft::reservation_id.eq(order))).execute(tx.conn())?;
    Ok(())
}

/// The sheet a customer sent last for another share of the same species, with the order and offering it was for. A standard cut
/// that nobody chose does not count.
///
/// # Errors
/// The database's own.
pub fn last_time(
    c: &mut DbConn,
    customer: CustomerId,
    species: Species,
    not: ReservationId,
) -> QueryResult<Option<(CutSheet, Reservation, Offering)>> {
    cut_sheet::table
        .inner_join(reservation::table.inner_join(offering::table))
        .filter(reservation::customer_id.eq(customer))
        .filter(reservation::id.ne(not))
        .filter(offering::species.eq(species))
        .filter(cut_sheet::origin.eq(SheetOrigin::Entered))
        .order((cut_sheet::entered_at.desc(), cut_sheet::reservation_id.desc()))
        .select((CutSheet::as_select(), Reservation::as_select(), Offering::as_select()))
        .first(c)
        .optional()
}
