//! Customers' wishes to cancel, asked by private link.

use super::at::At;
use super::conn::DbConn;
use super::few::{Few, MOST};
use super::ids::ReservationId;
use super::rows::links::{CancelRequest, NewCancelRequest};
use super::schema::{cancel_request, customer, reservation};
use super::store::Tx;
use crate::trade::vocabulary::CancelAnswer;
use diesel::prelude::*;

/// Adds an open wish.
///
/// # Errors
/// The database's own; a second open wish of one order is refused by the table.
pub fn insert(tx: &mut Tx, new: &NewCancelRequest) -> QueryResult<()> {
    diesel::insert_into(cancel_request::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// The open wish of an order.
///
/// # Errors
/// The database's own.
pub fn open_of(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<CancelRequest>> {
    cancel_request::table
        .filter(cancel_request::reservation_id.eq(order))
        .filter(cancel_request::answer.is_null())
        .select(CancelRequest::as_select())
        .first(c)
        .optional()
}

/// The last wish of an order, open or answered.
///
/// # Errors
/// The database's own.
pub fn last_of(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<CancelRequest>> {
    cancel_request::table
        .filter(cancel_request::reservation_id.eq(order))
        .order(cancel_request::id.desc())
        .select(CancelRequest::as_select())
        .first(c)
        .optional()
}

/// Answers the open wish of an order; `false` when there is none.
///
/// # Errors
/// The database's own.
pub fn close(tx: &mut Tx, order: ReservationId, answer: CancelAnswer, note: &str, at: At) -> QueryResult<bool> {
    let open =
        cancel_request::table.filter(cancel_request::reservation_id.eq(order)).filter(cancel_request::answer.is_null());
    let n = diesel::update(open)
        .set((
            cancel_request::answer.eq(answer),
            cancel_request::note.eq(note.to_string()),
            cancel_request::answered_at.eq(at),
        ))
        .execute(tx.conn())?;
    Ok(n > 0)
}

/// The open wishes with the customers' names, the oldest first.
///
/// # Errors
/// The database's own.
pub fn open(c: &mut DbConn) -> QueryResult<Few<(CancelRequest, String)>> {
    let first = cancel_request::table
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(cancel_request::answer.is_null())
        .order(cancel_request::id)
        .limit(i64::try_from(MOST).unwrap_or(i64::MAX))
        .select((CancelRequest::as_select(), customer::name))
        .load(c)?;
    let all: i64 = cancel_request::table.filter(cancel_request::answer.is_null()).count().get_result(c)?;
    Ok(Few::counted(first, all))
}
