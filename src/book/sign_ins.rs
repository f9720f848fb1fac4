//! Signed-in browsers as their owner sees them, and sign-ins that still wait for a code.

use super::at::At;
use super::conn::DbConn;
use super::ids::AccountId;
use super::rows::accounts::{Account, Session};
use super::schema::{account, session};
use super::store::Tx;
use diesel::prelude::*;

/// The most sign-ins a page lists; the eldest ones are left out.
const LISTED: i64 = 50;

/// An account's signed-in browsers, the last used first; at most 50.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, id: AccountId, now: At) -> QueryResult<Vec<Session>> {
    session::table
        .filter(session::account_id.eq(id))
        .filter(session::ends_at.gt(now))
        .filter(session::awaits_code.eq(false))
        .order((session::last_seen_at.desc(), session::id_hash))
        .limit(LISTED)
        .select(Session::as_select())
        .load(c)
}

/// A sign-in whose password fitted and whose code is still to come, if it is good at `now`.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn, id_hash: &str, now: At) -> QueryResult<Option<(Session, Account)>> {
    session::table
        .inner_join(account::table)
        .filter(session::id_hash.eq(id_hash))
        .filter(session::ends_at.gt(now))
        .filter(session::awaits_code.eq(true))
        .filter(account::disabled_at.is_null())
        .select((Session::as_select(), Account::as_select()))
        .first(c)
        .optional()
}

/// Ends one sign-in of this account; `false` if it has none such.
///
/// # Errors
/// The database's own.
pub fn end_one(tx: &mut Tx, of: AccountId, id_hash: &str) -> QueryResult<bool> {
    let found = session::table.filter(session::id_hash.eq(id_hash)).filter(session::account_id.eq(of));
    Ok(diesel::delete(found).execute(tx.conn())? == 1)
}

/// Ends every sign-in of an account but one; returns how many ended.
///
/// # Errors
/// The database's own.
pub fn end_others(tx: &mut Tx, of: AccountId, but: &str) -> QueryResult<usize> {
    let found = session::table.filter(session::account_id.eq(of)).filter(session::id_hash.ne(but));
    diesel::delete(found).execute(tx.conn())
}
