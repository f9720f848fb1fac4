//! Requests of strangers to reserve a share: kept, confirmed by a link, answered, forgotten.

use super::at::At;
use super::conn::DbConn;
use super::few::{Few, MOST};
use super::ids::{DateId, MessageId, RequestId, ReservationId};
use super::rows::requests::{NewRequestLink, NewReserveRequest, RequestDate, ReserveRequest};
use super::rows::selling::Offering;
use super::schema::{offering, request_date, request_link, reserve_request};
use super::store::Tx;
use crate::trade::requests::RequestEnd;
use diesel::prelude::*;

/// A request and what it is of.
pub type Asked = (ReserveRequest, Offering);

/// Adds a request with the dates it would like, best first.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewReserveRequest, dates: &[DateId]) -> QueryResult<RequestId> {
    let c = tx.conn();
    let id: RequestId =
        diesel::insert_into(reserve_request::table).values(new.clone()).returning(reserve_request::id).get_result(c)?;
    let rows: Vec<RequestDate> =
        (1..).zip(dates).map(|(place, date)| RequestDate { request_id: id, place, date_id: *date }).collect();
    for row in rows {
        diesel::insert_into(request_date::table).values(row).execute(c)?;
    }
    Ok(id)
}

/// One request.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: RequestId) -> QueryResult<Asked> {
    reserve_request::table
        .inner_join(offering::table)
        .filter(reserve_request::id.eq(id))
        .select((ReserveRequest::as_select(), Offering::as_select()))
        .first(c)
}

/// The dates a request would like, best first.
///
/// # Errors
/// The database's own.
pub fn dates_of(c: &mut DbConn, id: RequestId) -> QueryResult<Vec<DateId>> {
    request_date::table
        .filter(request_date::request_id.eq(id))
        .order(request_date::place)
        .select(request_date::date_id)
        .load(c)
}

/// How many of a mail address wait to be confirmed or answered.
///
/// # Errors
/// The database's own.
pub fn open_of_mail(c: &mut DbConn, mail: &str) -> QueryResult<i64> {
    reserve_request::table
        .filter(reserve_request::mail.eq(mail.to_string()))
        .filter(reserve_request::outcome.is_null())
        .count()
        .get_result(c)
}

/// How many wait to be confirmed.
///
/// # Errors
/// The database's own.
pub fn unconfirmed(c: &mut DbConn) -> QueryResult<i64> {
    reserve_request::table
        .filter(reserve_request::outcome.is_null())
        .filter(reserve_request::confirmed_at.is_null())
        .count()
        .get_result(c)
}

/// Those that are confirmed and wait for an answer, the oldest first.
///
/// # Errors
/// The database's own.
pub fn to_answer(c: &mut DbConn) -> QueryResult<Few<Asked>> {
    let open = || {
        reserve_request::table
            .filter(reserve_request::outcome.is_null())
            .filter(reserve_request::confirmed_at.is_not_null())
    };
    let first = open()
        .inner_join(offering::table)
        .order(reserve_request::id)
        .limit(i64::try_from(MOST).unwrap_or(i64::MAX))
        .select((ReserveRequest::as_select(), Offering::as_select()))
        .load(c)?;
    let all: i64 = open().count().get_result(c)?;
    Ok(Few::counted(first, all))
}

/// Those that were answered, the last first, at most `limit`.
///
/// # Errors
/// The database's own.
pub fn answered(c: &mut DbConn, limit: i64) -> QueryResult<Vec<Asked>> {
    reserve_request::table
        .inner_join(offering::table)
        .filter(reserve_request::outcome.is_not_null())
        .order(reserve_request::id.desc())
        .limit(limit)
        .select((ReserveRequest::as_select(), Offering::as_select()))
        .load(c)
}

/// The request an order came of.
///
/// # Errors
/// The database's own.
pub fn of_reservation(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<ReserveRequest>> {
    reserve_request::table
        .filter(reserve_request::reservation_id.eq(order))
        .select(ReserveRequest::as_select())
        .first(c)
        .optional()
}

/// Notes which mail carries the link.
///
/// # Errors
/// The database's own.
pub fn mailed_by(tx: &mut Tx, id: RequestId, message: MessageId) -> QueryResult<()> {
    diesel::update(reserve_request::table.find(id)).set(reserve_request::message_id.eq(message)).execute(tx.conn())?;
    Ok(())
}

/// The request a mail is about, while its address can be confirmed at `now`.
///
/// # Errors
/// The database's own.
pub fn of_message(c: &mut DbConn, message: MessageId, now: At) -> QueryResult<Option<RequestId>> {
    reserve_request::table
        .filter(reserve_request::message_id.eq(message))
        .filter(reserve_request::confirmed_at.is_null())
        .filter(reserve_request::confirm_by.gt(now))
        .select(reserve_request::id)
        .first(c)
        .optional()
}

/// Adds a link that confirms the address of a request.
///
/// # Errors
/// The database's own.
pub fn add_link(tx: &mut Tx, request: RequestId, token_hash: &str, at: At) -> QueryResult<()> {
    let new = NewRequestLink { token_hash: token_hash.into(), request_id: request, made_at: at };
    diesel::insert_into(request_link::table).values(new).execute(tx.conn())?;
    Ok(())
}

/// The request a link is of: one that is confirmed, or can still be at `now`.
///
/// # Errors
/// The database's own.
pub fn by_link(c: &mut DbConn, token_hash: &str, now: At) -> QueryResult<Option<Asked>> {
    request_link::table
        .inner_join(reserve_request::table.inner_join(offering::table))
        .filter(request_link::token_hash.eq(token_hash.to_string()))
        .filter(reserve_request::confirmed_at.is_not_null().or(reserve_request::confirm_by.gt(now)))
        .select((ReserveRequest::as_select(), Offering::as_select()))
        .first(c)
        .optional()
}

/// Notes that the address is confirmed; `false` when it was before.
///
/// # Errors
/// The database's own.
pub fn confirm(tx: &mut Tx, id: RequestId, at: At) -> QueryResult<bool> {
    let n = diesel::update(reserve_request::table.find(id).filter(reserve_request::confirmed_at.is_null()))
        .set(reserve_request::confirmed_at.eq(at))
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// Keeps the answer to a confirmed request; `false` when it was answered before.
///
/// # Errors
/// The database's own.
pub fn close(
    tx: &mut Tx,
    id: RequestId,
    outcome: RequestEnd,
    order: Option<ReservationId>,
    (at, by): (At, &str),
    words: &str,
) -> QueryResult<bool> {
    let open = reserve_request::table
        .find(id)
        .filter(reserve_request::outcome.is_null())
        .filter(reserve_request::confirmed_at.is_not_null());
    let n = diesel::update(open)
        .set((
            reserve_request::outcome.eq(outcome),
            reserve_request::reservation_id.eq(order),
            reserve_request::answered_at.eq(at),
            reserve_request::answered_by.eq(by.to_string()),
            reserve_request::answer.eq(words.to_string()),
        ))
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// Removes the requests that were not confirmed in time, and their links; how many.
///
/// # Errors
/// The database's own.
pub fn forget_unconfirmed(tx: &mut Tx, now: At) -> QueryResult<usize> {
    let c = tx.conn();
    let gone: Vec<RequestId> = reserve_request::table
        .filter(reserve_request::outcome.is_null())
        .filter(reserve_request::confirmed_at.is_null())
        .filter(reserve_request::confirm_by.le(now))
        .limit(500)
        .select(reserve_request::id)
        .load(c)?;
    diesel::delete(request_link::table.filter(request_link::request_id.eq_any(gone.clone()))).execute(c)?;
    diesel::delete(request_date::table.filter(request_date::request_id.eq_any(gone.clone()))).execute(c)?;
    diesel::delete(reserve_request::table.filter(reserve_request::id.eq_any(gone))).execute(c)
}
