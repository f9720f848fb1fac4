//! `gambrel check`: verifies on a live book what must always hold, and says what it verified.
//!
//! Each check reads whole tables in one snapshot; it changes nothing. The numbers are those of the invariants in
//! DEVELOPERS.md. The papers (4) are made again in [`crate::actions`], because no paper is made here.

mod animals;
mod bank;
mod costs;
mod ledger;
mod links;
mod money;
mod packaged;
mod pickups;
mod plans;
mod plant_page;
mod plants;
mod public;
mod requests;
mod selling;
mod sheets;

use super::conn::DbConn;
use diesel::prelude::*;

/// What one check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// What must hold.
    pub rule: &'static str,
    /// How many things were looked at.
    pub looked_at: usize,
    /// What does not hold; empty when all is well.
    pub faults: Vec<String>,
}

/// Runs every check on the tables, in one snapshot.
///
/// # Errors
/// The database's own.
pub fn check(c: &mut DbConn) -> QueryResult<Vec<Checked>> {
    Ok(vec![
        engine(c)?,
        selling::owners(c)?,
        selling::offerings(c)?,
        selling::offers(c)?,
        animals::billed_weights(c)?,
        animals::dealt_charges(c)?,
        money::invoices_add_up(c)?,
        selling::numbers(c)?,
        money::allocations(c)?,
        ledger::entries(c)?,
        ledger::equals_documents(c)?,
        bank::matched(c)?,
        bank::ties(c)?,
        bank::slips(c)?,
        selling::locked_prices(c)?,
        animals::withdrawals(c)?,
        links::live(c)?,
        links::wishes(c)?,
        sheets::packets(c)?,
        sheets::reminders(c)?,
        plans::locks(c)?,
        sheets::drafts(c)?,
        sheets::blocks(c)?,
        sheets::decisions(c)?,
        plants::offers(c)?,
        plans::acceptances(c)?,
        public::pictures(c)?,
        requests::terms(c)?,
        requests::requests(c)?,
        pickups::windows(c)?,
        pickups::choices(c)?,
        pickups::collected(c)?,
        pickups::reminders(c)?,
        pickups::storage(c)?,
        pickups::feeds(c)?,
        plant_page::links(c)?,
        plant_page::entries(c)?,
        packaged::told(c)?,
        costs::costs(c)?,
        costs::bills_of_sale(c)?,
        costs::balances(c)?,
    ])
}

#[derive(QueryableByName)]
struct OneText {
    #[diesel(sql_type = diesel::sql_types::Text)]
    text: String,
}

/// The engine's own checks; PostgreSQL keeps its foreign keys and checks itself.
///
/// # Errors
/// The database's own.
pub fn engine(c: &mut DbConn) -> QueryResult<Checked> {
    let mut faults = Vec::new();
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(_) => {}
        DbConn::Sqlite(c) => {
            let said: Vec<OneText> =
                diesel::sql_query("SELECT integrity_check AS text FROM pragma_integrity_check").load(c)?;
            faults.extend(said.into_iter().map(|r| r.text).filter(|t| t != "ok"));
            let keys: Vec<OneText> = diesel::sql_query(
                "SELECT \"table\" || ' row ' || COALESCE(rowid, 0) || ' points to nothing in ' || parent AS text FROM pragma_foreign_key_check",
            )
            .load(c)?;
            faults.extend(keys.into_iter().map(|r| r.text));
        }
    }
    Ok(Checked { rule: "the database file is sound and nothing points to nothing", looked_at: 1, faults })
}
