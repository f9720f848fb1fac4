//! Migrations, embedded in the program and run when a book is opened.

use super::conn::DbConn;
use diesel::migration::Migration;
use diesel_migrations::{EmbeddedMigrations, HarnessWithOutput, MigrationHarness, embed_migrations};

const SQLITE: EmbeddedMigrations = embed_migrations!("migrations/sqlite");
#[cfg(feature = "postgres")]
const POSTGRES: EmbeddedMigrations = embed_migrations!("migrations/postgres");
/// Any fixed number: processes that migrate the same PostgreSQL database wait for each other on it.
#[cfg(feature = "postgres")]
const ADVISORY_LOCK: i64 = 0x6761_6d62;

/// Brings a book up to this program's tables and refuses one made by a newer program.
///
/// # Errors
/// A sentence for the operator.
pub fn migrate(conn: &mut DbConn) -> Result<(), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => {
            use diesel::RunQueryDsl;
            let failed = |e: diesel::result::Error| format!("the database refused the migration lock: {e}");
            diesel::sql_query(format!("SELECT pg_advisory_lock({ADVISORY_LOCK})")).execute(c).map_err(failed)?;
            let outcome = run(c, POSTGRES);
            diesel::sql_query(format!("SELECT pg_advisory_unlock({ADVISORY_LOCK})")).execute(c).map_err(failed)?;
            outcome
        }
        DbConn::Sqlite(c) => run(c, SQLITE),
    }
}

/// Takes every migration back; for tests of the migrations themselves.
///
/// # Errors
/// A sentence for the developer.
pub fn revert_all(conn: &mut DbConn) -> Result<(), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => c.revert_all_migrations(POSTGRES).map(|_| ()).map_err(|e| e.to_string()),
        DbConn::Sqlite(c) => c.revert_all_migrations(SQLITE).map(|_| ()).map_err(|e| e.to_string()),
    }
}

fn run<C, DB>(c: &mut C, source: EmbeddedMigrations) -> Result<(), String>
where
    DB: diesel::backend::Backend,
    C: MigrationHarness<DB> + diesel::Connection<Backend = DB> + 'static,
    EmbeddedMigrations: diesel::migration::MigrationSource<DB>,
{
    use diesel::migration::MigrationSource;
    let known: Vec<String> = source
        .migrations()
        .map_err(|e| e.to_string())?
        .iter()
        .map(|m| Migration::<DB>::name(m).version().to_string())
        .collect();
    let applied =
        c.applied_migrations().map_err(|e| format!("this is not a book of ours, or it cannot be read: {e}"))?;
    if let Some(newer) = applied.iter().map(ToString::to_string).find(|v| !known.contains(v)) {
        return Err(format!(
            "this book was written by a newer Gambrel (it has the tables of step {newer}); use that program or a later one"
        ));
    }
    let pending = known.len().saturating_sub(applied.len());
    if pending == 0 {
        return Ok(());
    }
    tracing::info!(steps = pending, "bringing the book's tables up to date");
    HarnessWithOutput::new(c, std::io::sink())
        .run_pending_migrations(source)
        .map_err(|e| format!("the book's tables could not be brought up to date: {e}"))?;
    Ok(())
}
