//! Opening a copy again: is it sound, does it hold what the book held, do the rules hold in it, would it restore.

use crate::actions::check_book::check_book;
use crate::book::check::Checked;
use crate::book::conn::DbConn;
use crate::book::content;
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
    verify_in(&mut snapshot::open_copy(copy)?, taken, &copy.display().to_string())
}

/// The same on a copy that is open; `shown` is its name in sentences.
///
/// # Errors
/// As [`verify`].
pub(super) fn verify_in(c: &mut DbConn, taken: &Taken, shown: &str) -> Result<Rules, String> {
    let bad = |why: String| format!("the copy {shown} is not right: {why}");
    let engine = check::engine(c).map_err(|e| bad(e.to_string()))?;
    if let Some(fault) = engine.faults.first() {
        return Err(bad(fault.clone()));
    }
    let now = content::sums(c).map_err(|e| bad(e.to_string()))?;
    if let Some(differs) = content::first_difference(&taken.sums, &now) {
        return Err(bad(differs));
    }
    if !migrate::pending(c)?.1.is_empty() {
        return Ok(Rules { looked_at: 1, fault: None });
    }
    let all = check_book(c).map_err(|e| bad(e.to_string()))?;
    Ok(Rules { looked_at: all.len(), fault: first_fault(&all) })
}

/// Checks every rule of an open copy that is up to date. Returns how many hold.
///
/// # Errors
/// A sentence when one does not.
pub(super) fn all_hold(c: &mut DbConn, shown: &str) -> Result<usize, String> {
    let all = check_book(c).map_err(|e| e.to_string())?;
    match first_fault(&all) {
        Some(fault) => Err(format!("a rule of the book does not hold in {shown}: {fault}")),
        None => Ok(all.len()),
    }
}

/// The first fault, with its rule.
pub(super) fn first_fault(all: &[Checked]) -> Option<String> {
    all.iter().find_map(|one| one.faults.first().map(|fault| format!("{}: {fault}", one.rule)))
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
    let all = all_hold(&mut snapshot::bring_up_to_date(target)?, &copy.display().to_string());
    snapshot::settle(target)?;
    all
}
