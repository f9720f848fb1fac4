//! Whether a book is empty, and taking away what a program that was only started leaves in it.

use super::Trouble;
use crate::book::conn::DbConn;
use crate::book::content::{self, Table, quoted};
use crate::book::farm;
use diesel::prelude::*;
use diesel::sql_types::BigInt;

/// What stands in a book nobody has set up yet: the farm without a name, the link for the first account.
const OF_A_START: &[&str] = &["farm", "setup_link"];

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    n: i64,
}

/// Refuses a book that holds anything.
///
/// # Errors
/// The database's own; a sentence when something is in it.
pub(super) fn refuse_unless_empty(c: &mut DbConn) -> Result<(), Trouble> {
    for Table { name, .. } in content::tables(c)? {
        let is_left_by_a_start = match name.as_str() {
            "farm" => match farm::get(c) {
                Ok(farm) => farm.set_up_at.is_none(),
                Err(diesel::result::Error::NotFound) => true,
                Err(e) => return Err(e.into()),
            },
            other => OF_A_START.contains(&other),
        };
        let query = format!("SELECT COUNT(*) AS n FROM {}", quoted(&name));
        let Count { n } = crate::on_db!(c, c => diesel::sql_query(query).get_result(c))?;
        if n > 0 && !is_left_by_a_start {
            return Err(Trouble::Said(
                "there is a book already, and what is in it is not written over. Name an empty folder (GAMBREL_DATA) or an empty \
                 database (DATABASE_URL)"
                    .into(),
            ));
        }
    }
    Ok(())
}

/// Takes away what a start left.
///
/// # Errors
/// The database's own.
pub(super) fn sweep(c: &mut DbConn) -> QueryResult<()> {
    for table in OF_A_START {
        let query = format!("DELETE FROM {}", quoted(table));
        crate::on_db!(c, c => diesel::sql_query(query).execute(c))?;
    }
    Ok(())
}
