//! The order in which tables are written: those that others point to come first.

use super::Trouble;
use crate::book::conn::DbConn;
use crate::book::content::{self, Table};
use diesel::prelude::*;
use diesel::sql_types::Text;

#[derive(QueryableByName)]
struct Points {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    to: String,
}

/// The tables of a book, each after all it points to, otherwise in the order of their names. A table may point to itself: its
/// rows point to earlier ones.
///
/// # Errors
/// The database's own; tables that point to each other in a ring.
pub fn by_reference(c: &mut DbConn) -> Result<Vec<Table>, Trouble> {
    let mut left = content::tables(c)?;
    let points = points(c)?;
    let mut ordered: Vec<Table> = Vec::new();
    while !left.is_empty() {
        let is_ready = |t: &Table| {
            points
                .iter()
                .all(|p| p.of != t.name || p.to == t.name || ordered.iter().any(|done: &Table| done.name == p.to))
        };
        let Some(next) = left.iter().position(is_ready) else {
            return Err(Trouble::Said("tables of the book point to each other in a ring".into()));
        };
        ordered.push(left.remove(next));
    }
    Ok(ordered)
}

fn points(c: &mut DbConn) -> QueryResult<Vec<Points>> {
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => diesel::sql_query(
            "SELECT t.relname::text AS of, o.relname::text AS \"to\" FROM pg_constraint k JOIN pg_class t ON t.oid = k.conrelid
             JOIN pg_class o ON o.oid = k.confrelid WHERE k.contype = 'f'",
        )
        .load(c),
        DbConn::Sqlite(c) => diesel::sql_query(
            "SELECT m.name AS \"of\", f.\"table\" AS \"to\" FROM sqlite_schema m JOIN pragma_foreign_key_list(m.name) f
             WHERE m.type = 'table'",
        )
        .load(c),
    }
}
