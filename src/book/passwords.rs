//! Changing a password, and the links with which a person chooses one.

use super::at::At;
use super::conn::DbConn;
use super::ids::AccountId;
use super::rows::accounts::Account;
use super::schema::{account, password_link};
use super::store::Tx;
use diesel::prelude::*;

/// Stores another password's hash.
///
/// # Errors
/// The database's own.
pub fn set(tx: &mut Tx, id: AccountId, hash: &str) -> QueryResult<()> {
    diesel::update(account::table.find(id)).set(account::password_hash.eq(hash)).execute(tx.conn())?;
    Ok(())
}

/// Stores a link's hash; earlier links of the account stop being good.
///
/// # Errors
/// The database's own.
pub fn put_link(tx: &mut Tx, id: AccountId, token_hash: &str, made_at: At, ends_at: At) -> QueryResult<()> {
    end_links(tx, id)?;
    diesel::insert_into(password_link::table)
        .values((
            password_link::token_hash.eq(token_hash),
            password_link::account_id.eq(id),
            password_link::made_at.eq(made_at),
            password_link::ends_at.eq(ends_at),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Forgets an account's links.
///
/// # Errors
/// The database's own.
pub fn end_links(tx: &mut Tx, id: AccountId) -> QueryResult<()> {
    diesel::delete(password_link::table.filter(password_link::account_id.eq(id))).execute(tx.conn())?;
    Ok(())
}

/// Whose link this is, while it is good and the account is not switched off.
///
/// # Errors
/// The database's own.
pub fn account_of_link(c: &mut DbConn, token_hash: &str, now: At) -> QueryResult<Option<Account>> {
    password_link::table
        .inner_join(account::table)
        .filter(password_link::token_hash.eq(token_hash))
        .filter(password_link::used_at.is_null())
        .filter(password_link::ends_at.gt(now))
        .filter(account::disabled_at.is_null())
        .select(Account::as_select())
        .first(c)
        .optional()
}
