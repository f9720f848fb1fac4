//! What is kept of an account's second factor: the shared secret, the last code taken, and the recovery codes.

use super::at::At;
use super::conn::DbConn;
use super::ids::AccountId;
use super::rows::accounts::Account;
use super::schema::{account, recovery_code};
use super::store::Tx;
use diesel::prelude::*;

/// An account by its id, unless it is switched off.
///
/// # Errors
/// The database's own.
pub fn account(c: &mut DbConn, id: AccountId) -> QueryResult<Option<Account>> {
    account::table.find(id).filter(account::disabled_at.is_null()).select(Account::as_select()).first(c).optional()
}

/// Switches the second factor on with this secret, or off without one. The codes of the old one stop being good.
///
/// # Errors
/// The database's own.
pub fn set(tx: &mut Tx, id: AccountId, secret: Option<&str>, step: i64, now: At) -> QueryResult<()> {
    let since = secret.map(|_| now);
    diesel::update(account::table.find(id))
        .set((account::totp_secret.eq(secret), account::totp_since.eq(since), account::totp_step.eq(step)))
        .execute(tx.conn())?;
    diesel::delete(recovery_code::table.filter(recovery_code::account_id.eq(id))).execute(tx.conn())?;
    Ok(())
}

/// Uses up the code of a counted half minute; `false` when that one or a later one was used before.
///
/// # Errors
/// The database's own.
pub fn use_step(tx: &mut Tx, id: AccountId, step: i64) -> QueryResult<bool> {
    let unused = account::table.find(id).filter(account::totp_step.lt(step));
    Ok(diesel::update(unused).set(account::totp_step.eq(step)).execute(tx.conn())? == 1)
}

/// Puts new recovery codes in place of the old ones.
///
/// # Errors
/// The database's own.
pub fn put_codes(tx: &mut Tx, id: AccountId, hashes: &[String], now: At) -> QueryResult<()> {
    diesel::delete(recovery_code::table.filter(recovery_code::account_id.eq(id))).execute(tx.conn())?;
    for hash in hashes {
        diesel::insert_into(recovery_code::table)
            .values((
                recovery_code::code_hash.eq(hash),
                recovery_code::account_id.eq(id),
                recovery_code::made_at.eq(now),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// Uses a recovery code of this account up; `false` when it has none such or it was used.
///
/// # Errors
/// The database's own.
pub fn use_code(tx: &mut Tx, id: AccountId, hash: &str, now: At) -> QueryResult<bool> {
    let found = recovery_code::table
        .find(hash)
        .filter(recovery_code::account_id.eq(id))
        .filter(recovery_code::used_at.is_null());
    Ok(diesel::update(found).set(recovery_code::used_at.eq(now)).execute(tx.conn())? == 1)
}

/// How many recovery codes of an account are still good.
///
/// # Errors
/// The database's own.
pub fn codes_left(c: &mut DbConn, id: AccountId) -> QueryResult<i64> {
    recovery_code::table
        .filter(recovery_code::account_id.eq(id))
        .filter(recovery_code::used_at.is_null())
        .count()
        .get_result(c)
}
