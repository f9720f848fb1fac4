//! Opening a copy again: is it sound, does it hold what the book held, do the rules hold in it, would it restore.

use crate::actions::check_book::check_book;
use crate::book::content::{self, Sum};
use crate::book::snapshot::{self, Taken};
use crate::book::{check, migrate};
use std::path::Path;

/// What the rules of the book said of a copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rules {
    /// How many were looked at.
    pub looked_at: usize,
    /// The first fault, if any does not hold.
    pub fault: Option<String>,
}

/// Holds a copy against what the book held: the engine's own checks, every table row by row by its fingerprint, and, when
/// its tables are up to date, every rule of `gambrel check`.
///
/// # Errors
/// A sentence that says what is wrong with the copy. A rule that does not hold is a fault of the book, and the copy is as
/// good as the book is: that is told in what is returned.
pub fn verify(copy: &Path, taken: &Taken) -> Result<Rules, String> {
    let mut c = snapshot::open_copy(copy)?;
    let bad = |why: String| format!("the copy {} is not right: {why}", copy.display());
    let engine = check::engine(&mut c).map_err(|e| bad(e.to_string()))?;
    if let Some(fault) = engine.faults.first() {
        return Err(bad(fault.clone()));
    }
    let now = content::sums(&mut c).map_err(|e| bad(e.to_string()))?;
    if let Some(differs) = first_difference(&taken.sums, &now) {
        return Err(bad(differs));
    }
    if !migrate::pending(&mut c)?.1.is_empty() {
        return Ok(Rules { looked_at: 1, fault: None });
    }
    let all = check_book(&mut c).map_err(|e| bad(e.to_string()))?;
    Ok(Rules {
        looked_at: all.len(),
        fault: all.iter().find_map(|one| one.faults.first().map(|fault| format!("{}: {fault}", one.rule))),
    })
}

/// What the first table is that differs, in words.
fn first_difference(book: &[Sum], copy: &[Sum]) -> Option<String> {
    let differs = book.iter().find(|b| !copy.contains(b));
    match differs {
        Some(b) => Some(match copy.iter().find(|c| c.table == b.table) {
            None => format!("the table {} is missing", b.table),
            Some(c) if c.rows != b.rows => format!("the table {} holds {} rows instead of {}", b.table, c.rows, b.rows),
            Some(_) => format!("the table {} holds other things than the book", b.table),
        }),
        None if book.len() != copy.len() => Some("it has tables that the book has not".into()),
        None => None,
    }
}

/// Rehearses a restore: the copy is copied once more to `scratch`, brought up to date there, and every rule is checked.
/// The scratch file is taken away again. Returns how many rules hold.
///
/// # Errors
/// A sentence.
pub fn rehearse(copy: &Path, scratch: &Path) -> Result<usize, String> {
    let outcome = bring_forward(copy, scratch);
    for ending in ["", "-wal", "-shm", "-journal"] {
        let _ = std::fs::remove_file(format!("{}{ending}", scratch.display()));
    }
    outcome
}

/// Copies a file to `target`, brings it up to date there and checks every rule. Returns how many rules hold; the target
/// stays, closed and whole without a journal.
///
/// # Errors
/// A sentence; the target may be left half-done then.
pub fn bring_forward(copy: &Path, target: &Path) -> Result<usize, String> {
    std::fs::copy(copy, target).map_err(|e| format!("{} cannot be copied: {e}", copy.display()))?;
    let all = check_book(&mut snapshot::bring_up_to_date(target)?).map_err(|e| e.to_string())?;
    snapshot::settle(target)?;
    match all.iter().find_map(|one| one.faults.first().map(|fault| format!("{}: {fault}", one.rule))) {
        Some(fault) => Err(format!("a rule of the book does not hold in {}: {fault}", copy.display())),
        None => Ok(all.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_difference_is_named() {
        let sum =
            |table: &str, rows, fingerprint: &str| Sum { table: table.into(), rows, fingerprint: fingerprint.into() };
        let book = [sum("customer", 2, "aa"), sum("payment", 3, "bb")];
        assert_eq!(first_difference(&book, &book), None);
        let fewer = [sum("customer", 2, "aa"), sum("payment", 2, "cc")];
        assert_eq!(first_difference(&book, &fewer).unwrap(), "the table payment holds 2 rows instead of 3");
        let other = [sum("customer", 2, "aa"), sum("payment", 3, "cc")];
        assert_eq!(first_difference(&book, &other).unwrap(), "the table payment holds other things than the book");
        assert_eq!(first_difference(&book, &book[..1]).unwrap(), "the table payment is missing");
        assert_eq!(first_difference(&book[..1], &book).unwrap(), "it has tables that the book has not");
    }
}
