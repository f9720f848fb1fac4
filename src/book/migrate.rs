//! Migrations, embedded in the program and run when a book is opened.

use super::conn::DbConn;
use super::ledger::carry_over::carry_over;
use diesel::migration::Migration;
use diesel_migrations::{EmbeddedMigrations, HarnessWithOutput, MigrationHarness, embed_migrations};

const SQLITE: EmbeddedMigrations = embed_migrations!("migrations/sqlite");
#[cfg(feature = "postgres")]
const POSTGRES: EmbeddedMigrations = embed_migrations!("migrations/postgres");
/// Any fixed number: processes that migrate the same PostgreSQL database wait for each other on it.
#[cfg(feature = "postgres")]
const ADVISORY_LOCK: i64 = 0x6761_6d62;

/// Brings a book up to this program's tables, begins its ledger if it is older than that, and refuses one made by a newer
/// program.
///
/// # Errors
/// A sentence for the operator.
pub fn migrate(conn: &mut DbConn) -> Result<(), String> {
    lock(conn, "pg_advisory_lock")?;
    let outcome = match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => run(c, || POSTGRES),
        DbConn::Sqlite(c) => run(c, || SQLITE),
    };
    let outcome = outcome.and_then(|()| begin_ledger(conn));
    lock(conn, "pg_advisory_unlock")?;
    outcome
}

fn begin_ledger(conn: &mut DbConn) -> Result<(), String> {
    let entries = carry_over(conn)?;
    if entries > 0 {
        tracing::info!("the ledger was begun from what is in the book: {entries} entries, equal to the documents");
    }
    Ok(())
}

/// Locks or unlocks the migrations of a PostgreSQL database; SQLite has one writer anyway.
fn lock(conn: &mut DbConn, how: &str) -> Result<(), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => {
            use diesel::RunQueryDsl;
            let failed = |e: diesel::result::Error| format!("the database refused the migration lock: {e}");
            diesel::sql_query(format!("SELECT {how}({ADVISORY_LOCK})")).execute(c).map_err(failed)?;
            Ok(())
        }
        DbConn::Sqlite(_) => {
            let _ = how;
            Ok(())
        }
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

/// Takes every step of an empty book back and goes these steps only, for a book of an earlier program that is read from a
/// file; [`migrate`] brings it forward afterwards.
///
/// # Errors
/// A sentence, also when the file has a step this program does not know.
pub fn only(conn: &mut DbConn, steps: &[String]) -> Result<(), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => go(c, || POSTGRES, steps),
        DbConn::Sqlite(c) => go(c, || SQLITE, steps),
    }
}

fn go<C, DB>(c: &mut C, source: impl Fn() -> EmbeddedMigrations, steps: &[String]) -> Result<(), String>
where
    DB: diesel::backend::Backend,
    C: MigrationHarness<DB> + diesel::Connection<Backend = DB> + 'static,
    EmbeddedMigrations: diesel::migration::MigrationSource<DB>,
{
    use diesel::migration::MigrationSource;
    let mut known = MigrationSource::<DB>::migrations(&source()).map_err(|e| e.to_string())?;
    known.sort_by_key(|m| m.name().version().to_string());
    let is_known = |step: &String| known.iter().any(|m| m.name().version().to_string() == *step);
    if let Some(newer) = steps.iter().find(|s| !is_known(s)) {
        return Err(format!(
            "it was written by a newer Gambrel (it has the tables of step {newer}); use that program or a later one"
        ));
    }
    c.revert_all_migrations(source()).map_err(|e| format!("the empty tables could not be taken away: {e}"))?;
    for step in known.iter().filter(|m| steps.contains(&m.name().version().to_string())) {
        c.run_migration(&**step).map_err(|e| format!("the tables of step {} could not be made: {e}", step.name()))?;
    }
    Ok(())
}

/// Takes the last migration back; for tests of an upgrade.
///
/// # Errors
/// A sentence for the developer.
pub fn revert_last(conn: &mut DbConn) -> Result<(), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => c.revert_last_migration(POSTGRES).map(|_| ()).map_err(|e| e.to_string()),
        DbConn::Sqlite(c) => c.revert_last_migration(SQLITE).map(|_| ()).map_err(|e| e.to_string()),
    }
}

/// Whether a book has tables yet, and the names of the steps that would bring it up to date. Changes nothing that matters:
/// the engine may make its empty list of steps.
///
/// # Errors
/// A sentence for the operator when it is no book, or was written by a newer program.
pub fn pending(conn: &mut DbConn) -> Result<(bool, Vec<String>), String> {
    match conn {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => look(c, POSTGRES),
        DbConn::Sqlite(c) => look(c, SQLITE),
    }
}

fn look<C, DB>(c: &mut C, source: EmbeddedMigrations) -> Result<(bool, Vec<String>), String>
where
    DB: diesel::backend::Backend,
    C: MigrationHarness<DB> + diesel::Connection<Backend = DB> + 'static,
    EmbeddedMigrations: diesel::migration::MigrationSource<DB>,
{
    use diesel::migration::MigrationSource;
    let known: Vec<(String, String)> = source
        .migrations()
        .map_err(|e| e.to_string())?
        .iter()
        .map(|m| (Migration::<DB>::name(m).version().to_string(), Migration::<DB>::name(m).to_string()))
        .collect();
    let applied: Vec<String> = c
        .applied_migrations()
        .map_err(|e| format!("this is not a book of ours, or it cannot be read: {e}"))?
        .iter()
        .map(ToString::to_string)
        .collect();
    if let Some(newer) = applied.iter().find(|v| !known.iter().any(|(k, _)| k == *v)) {
        return Err(format!(
            "this book was written by a newer Gambrel (it has the tables of step {newer}); use that program or a later one"
        ));
    }
    let to_come = known.into_iter().filter(|(version, _)| !applied.contains(version)).map(|(_, name)| name).collect();
    Ok((!applied.is_empty(), to_come))
}

fn run<C, DB>(c: &mut C, source: impl Fn() -> EmbeddedMigrations) -> Result<(), String>
where
    DB: diesel::backend::Backend,
    C: MigrationHarness<DB> + diesel::Connection<Backend = DB> + 'static,
    EmbeddedMigrations: diesel::migration::MigrationSource<DB>,
{
    let (has_tables, steps) = look(c, source())?;
    let all = steps.len();
    for (n, step) in (1_usize..).zip(steps) {
        let began = std::time::Instant::now();
        HarnessWithOutput::new(&mut *c, std::io::sink())
            .run_next_migration(source())
            .map_err(|e| format!("the book's tables could not be brought up to date at step {step}: {e}"))?;
        if has_tables {
            tracing::info!("the book's tables: step {n} of {all}, {step}, {} ms", began.elapsed().as_millis());
        }
    }
    Ok(())
}
