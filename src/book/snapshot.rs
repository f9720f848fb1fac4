//! A copy of an embedded book by the engine's own means, and opening such a copy without changing it.

use super::conn::{DbConn, Place};
use super::content::{self, Sum};
use super::migrate;
use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::Text;
use diesel::sqlite::SqliteConnection;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use std::path::Path;

/// What SQLite reads literally in the path of a `file:` address.
const LITERAL: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'_').remove(b'.');

/// What a book held when it was copied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its tables.
    pub sums: Vec<Sum>,
    /// Its last migration.
    pub step: String,
}

/// Copies an embedded book into a new file. Nobody writes while it is copied, readers read on; what is told is what the
/// copy must hold. The book itself is not changed and not migrated.
///
/// # Errors
/// A sentence.
pub fn copy_into(book: &Path, copy: &Path) -> Result<Taken, String> {
    let failed = |e: &dyn std::fmt::Display| format!("the book could not be copied to {}: {e}", copy.display());
    if !book.is_file() {
        return Err(format!("there is no book at {}", book.display()));
    }
    let place = Place::File(book.to_path_buf());
    let mut guard = place.connect(false).map_err(|e| failed(&e))?;
    batch(&mut guard, "BEGIN IMMEDIATE").map_err(|e| failed(&e))?;
    let outcome = (|| {
        let taken = Taken {
            sums: content::sums(&mut guard).map_err(|e| failed(&e))?,
            step: content::last_step(&mut guard).map_err(|e| failed(&e))?,
        };
        // VACUUM cannot run inside a transaction, so another connection copies what the guard keeps still.
        let mut other = SqliteConnection::establish(&book.to_string_lossy()).map_err(|e| failed(&e))?;
        diesel::sql_query("VACUUM INTO ?")
            .bind::<Text, _>(copy.to_string_lossy().into_owned())
            .execute(&mut other)
            .map_err(|e| failed(&e))?;
        Ok(taken)
    })();
    batch(&mut guard, "ROLLBACK").map_err(|e| failed(&e))?;
    outcome
}

/// Opens a copy to read; its file is not changed, not even its journal.
///
/// # Errors
/// A sentence.
pub fn open_copy(copy: &Path) -> Result<DbConn, String> {
    let path = utf8_percent_encode(&copy.to_string_lossy(), LITERAL).to_string();
    // Immutable: a copy has no journal beside it and nobody writes it.
    SqliteConnection::establish(&format!("file:{path}?mode=ro&immutable=1"))
        .map(DbConn::Sqlite)
        .map_err(|e| format!("{} cannot be opened: {e}", copy.display()))
}

/// Opens a book by one connection and leaves its tables as they are.
///
/// # Errors
/// A sentence.
pub fn open_as_it_is(place: &Place) -> Result<DbConn, String> {
    place.connect(false).map_err(|e| format!("{} cannot be opened: {e}", place.shown()))
}

/// Opens a copy alone, by one connection, and brings its tables up to date.
///
/// # Errors
/// A sentence.
pub fn bring_up_to_date(copy: &Path) -> Result<DbConn, String> {
    let mut c = open_as_it_is(&Place::File(copy.to_path_buf()))?;
    migrate::migrate(&mut c)?;
    Ok(c)
}

/// Whether a book has tables, and the names of the steps that would bring it up to date; a file that is not there has none.
///
/// # Errors
/// A sentence when it is no book, or was written by a newer program.
pub fn steps_to_come(place: &Place) -> Result<(bool, Vec<String>), String> {
    if let Place::File(path) = place
        && !path.exists()
    {
        return Ok((false, Vec::new()));
    }
    let mut c = place.connect(false).map_err(|e| format!("the book at {} cannot be opened: {e}", place.shown()))?;
    migrate::pending(&mut c)
}

/// Brings everything that stands in the journal into the file itself, and closes the book, so that the file alone is whole.
///
/// # Errors
/// The engine's own, as a sentence.
pub fn settle(book: &Path) -> Result<(), String> {
    let mut c = SqliteConnection::establish(&book.to_string_lossy()).map_err(|e| e.to_string())?;
    c.batch_execute("PRAGMA busy_timeout=5000; PRAGMA wal_checkpoint(TRUNCATE); PRAGMA journal_mode=DELETE;")
        .map_err(|e| e.to_string())
}

fn batch(c: &mut DbConn, text: &str) -> QueryResult<()> {
    crate::on_db!(c, c => c.batch_execute(text))
}
