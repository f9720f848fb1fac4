//! Accounts and signed-in browsers.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::AccountId;
use crate::book::schema::{account, session};
use crate::trade::vocabulary::Role;
use diesel::prelude::*;

/// People who sign in. mail is stored folded to lower case.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = account, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Account {
    pub id: AccountId,
    pub mail: String,
    pub name: String,
    pub password_hash: String,
    pub role: Role,
    pub created_at: At,
    pub disabled_at: Option<At>,
    pub totp_secret: Option<String>,
    pub totp_since: Option<At>,
    pub totp_step: i64,
}

/// A new row of `account`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = account)]
pub struct NewAccount {
    pub mail: String,
    pub name: String,
    pub password_hash: String,
    pub role: Role,
    pub created_at: At,
    pub disabled_at: Option<At>,
}

/// Signed-in browsers. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = session, primary_key(id_hash), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Session {
    pub id_hash: String,
    pub account_id: AccountId,
    pub form_secret: String,
    pub created_at: At,
    pub last_seen_at: At,
    pub ends_at: At,
    pub browser: String,
    pub awaits_code: bool,
}
