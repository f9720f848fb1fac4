//! Accounts, sessions, the first-account link, and used form keys.

use super::at::At;
use super::conn::DbConn;
use super::ids::AccountId;
use super::rows::accounts::{Account, NewAccount, Session};
use super::schema::{account, session, setup_link, used_form_key};
use super::store::Tx;
use diesel::prelude::*;

/// How many accounts there are.
///
/// # Errors
/// The database's own.
pub fn count(c: &mut DbConn) -> QueryResult<i64> {
    account::table.count().get_result(c)
}

/// The account with this mail address (folded to lower case), unless it is switched off.
///
/// # Errors
/// The database's own.
pub fn by_mail(c: &mut DbConn, mail: &str) -> QueryResult<Option<Account>> {
    account::table
        .filter(account::mail.eq(mail.trim().to_lowercase()))
        .filter(account::disabled_at.is_null())
        .select(Account::as_select())
        .first(c)
        .optional()
}

/// Every account, also those that are switched off, by name; a farm has few.
///
/// # Errors
/// The database's own.
pub fn all(c: &mut DbConn) -> QueryResult<Vec<Account>> {
    account::table.order((account::name, account::id)).select(Account::as_select()).load(c)
}

/// Switches an account off since an instant, or on.
///
/// # Errors
/// The database's own.
pub fn switch(tx: &mut Tx, id: AccountId, off_since: Option<At>) -> QueryResult<()> {
    diesel::update(account::table.find(id)).set(account::disabled_at.eq(off_since)).execute(tx.conn())?;
    Ok(())
}

/// Adds an account.
///
/// # Errors
/// The database's own; a unique violation when the address is taken.
pub fn insert(tx: &mut Tx, new: &NewAccount) -> QueryResult<AccountId> {
    diesel::insert_into(account::table).values(new.clone()).returning(account::id).get_result(tx.conn())
}

/// Stores a signed-in browser.
///
/// # Errors
/// The database's own.
pub fn begin_session(tx: &mut Tx, s: &Session) -> QueryResult<()> {
    diesel::insert_into(session::table).values(s.clone()).execute(tx.conn())?;
    Ok(())
}

/// The session with this hash and its account, if both are still good at `now`.
///
/// # Errors
/// The database's own.
pub fn session_of(c: &mut DbConn, id_hash: &str, now: At) -> QueryResult<Option<(Session, Account)>> {
    session::table
        .inner_join(account::table)
        .filter(session::id_hash.eq(id_hash))
        .filter(session::ends_at.gt(now))
        .filter(session::awaits_code.eq(false))
        .filter(account::disabled_at.is_null())
        .select((Session::as_select(), Account::as_select()))
        .first(c)
        .optional()
}

/// Notes that a session was used.
///
/// # Errors
/// The database's own.
pub fn touch_session(tx: &mut Tx, id_hash: &str, now: At) -> QueryResult<()> {
    diesel::update(session::table.find(id_hash)).set(session::last_seen_at.eq(now)).execute(tx.conn())?;
    Ok(())
}

/// Ends one session.
///
/// # Errors
/// The database's own.
pub fn end_session(tx: &mut Tx, id_hash: &str) -> QueryResult<()> {
    diesel::delete(session::table.find(id_hash)).execute(tx.conn())?;
    Ok(())
}

/// Ends every session of an account.
///
/// # Errors
/// The database's own.
pub fn end_sessions_of(tx: &mut Tx, id: AccountId) -> QueryResult<()> {
    diesel::delete(session::table.filter(session::account_id.eq(id))).execute(tx.conn())?;
    Ok(())
}

/// Stores a first-account link's hash; earlier unused links stop working.
///
/// # Errors
/// The database's own.
pub fn put_setup_link(tx: &mut Tx, token_hash: &str, made_at: At, ends_at: At) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(setup_link::table.filter(setup_link::used_at.is_null())).execute(c)?;
    diesel::insert_into(setup_link::table)
        .values((
            setup_link::token_hash.eq(token_hash),
            setup_link::made_at.eq(made_at),
            setup_link::ends_at.eq(ends_at),
        ))
        .execute(c)?;
    Ok(())
}

/// Whether a first-account link is still good.
///
/// # Errors
/// The database's own.
pub fn setup_link_is_good(c: &mut DbConn, token_hash: &str, now: At) -> QueryResult<bool> {
    let n: i64 = setup_link::table
        .filter(setup_link::token_hash.eq(token_hash))
        .filter(setup_link::used_at.is_null())
        .filter(setup_link::ends_at.gt(now))
        .count()
        .get_result(c)?;
    Ok(n == 1)
}

/// Uses a first-account link up; `false` if it was used or is too old.
///
/// # Errors
/// The database's own.
pub fn use_setup_link(tx: &mut Tx, token_hash: &str, now: At) -> QueryResult<bool> {
    let n = diesel::update(
        setup_link::table
            .filter(setup_link::token_hash.eq(token_hash))
            .filter(setup_link::used_at.is_null())
            .filter(setup_link::ends_at.gt(now)),
    )
    .set(setup_link::used_at.eq(now))
    .execute(tx.conn())?;
    Ok(n == 1)
}

/// Where the first use of a form key led, if it was used.
///
/// # Errors
/// The database's own.
pub fn form_key_used(tx: &mut Tx, key: &str) -> QueryResult<Option<String>> {
    used_form_key::table.find(key).select(used_form_key::location).first(tx.conn()).optional()
}

/// Uses a form key up, and forgets keys and sessions that ended more than two days ago.
///
/// # Errors
/// The database's own.
pub fn use_form_key(tx: &mut Tx, key: &str, location: &str, now: At) -> QueryResult<()> {
    let c = tx.conn();
    diesel::insert_into(used_form_key::table)
        .values((used_form_key::form_key.eq(key), used_form_key::used_at.eq(now), used_form_key::location.eq(location)))
        .execute(c)?;
    let old = now.plus(chrono::TimeDelta::days(-2));
    diesel::delete(used_form_key::table.filter(used_form_key::used_at.lt(old))).execute(c)?;
    diesel::delete(session::table.filter(session::ends_at.lt(old))).execute(c)?;
    Ok(())
}
