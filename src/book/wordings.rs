//! Message wordings the farmer changed. A missing row means the default.

use super::conn::DbConn;
use super::rows::outbox::MessageTemplate;
use super::schema::message_template;
use super::store::Tx;
use diesel::prelude::*;

/// The wording stored for a purpose, if the farmer changed it.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, purpose: &str) -> QueryResult<Option<MessageTemplate>> {
    message_template::table.find(purpose).select(MessageTemplate::as_select()).first(c).optional()
}

/// The purposes whose wording the farmer changed.
///
/// # Errors
/// The database's own.
pub fn changed(c: &mut DbConn) -> QueryResult<Vec<String>> {
    message_template::table.select(message_template::purpose).load(c)
}

/// Stores a wording. `seen` is the version the editor started from, 0 for the default. `false` if somebody saved in between.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, new: &MessageTemplate, seen: i64) -> QueryResult<bool> {
    let c = tx.conn();
    let n = if seen == 0 {
        if of(c, &new.purpose)?.is_some() {
            return Ok(false);
        }
        diesel::insert_into(message_template::table).values(MessageTemplate { version: 1, ..new.clone() }).execute(c)?
    } else {
        diesel::update(message_template::table.find(&new.purpose).filter(message_template::version.eq(seen)))
            .set(MessageTemplate { version: seen.saturating_add(1), ..new.clone() })
            .execute(c)?
    };
    Ok(n == 1)
}

/// Goes back to the default. `false` if somebody saved since `seen`.
///
/// # Errors
/// The database's own.
pub fn reset(tx: &mut Tx, purpose: &str, seen: i64) -> QueryResult<bool> {
    let n = diesel::delete(message_template::table.find(purpose).filter(message_template::version.eq(seen)))
        .execute(tx.conn())?;
    Ok(n == 1)
}
