//! Taking a list into the book: all of its lines in one transaction, or none.

use super::carry::{Fate, carry_out};
use super::{digest, look};
use crate::actions::sheet_in;
use crate::actions::{Doing, Failure, Problems};
use crate::book::ids::ImportFileId;
use crate::book::imports;
use crate::book::rows::imports::ImportTaken;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::import_file::Kind;

/// What somebody says with the button.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Take {
    /// The fingerprint of the page that was looked at.
    pub fingerprint: String,
    /// Whether the list is taken although the same one was before.
    pub again: bool,
}

/// What became of the lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// Lines that made something.
    pub made: usize,
    /// Lines that were in the book already.
    pub there: usize,
    /// Lines that were left out.
    pub left_out: usize,
}

/// Takes a list in.
///
/// # Errors
/// [`Failure::Refused`] for lines with faults, for a list that was taken before and is not to be taken again, and when nothing in it
/// is new; [`Failure::Stale`] when anything the page showed changed; [`Failure::NotFound`] when the list is gone. Nothing is written
/// then.
pub fn take_list(tx: &mut Tx, doing: &Doing, kind: Kind, id: ImportFileId, take: &Take) -> Result<Taken, Failure> {
    let opened = look(tx.conn(), kind, id)?;
    if !opened.is_matched {
        return Err(Failure::Stale);
    }
    let mut problems = Problems::default();
    if opened.taken.is_some() && !take.again {
        problems.add("again", "This file was taken before. Tick that it is to be taken again, or leave it.");
        return Err(Failure::Refused(problems));
    }
    let done = carry_out(tx, doing, &opened)?;
    if done.fingerprint != take.fingerprint {
        return Err(Failure::Stale);
    }
    sheet_in::say(&mut problems, &done.faults);
    problems.check()?;
    let made = done.count(Fate::New);
    if made == 0 {
        return Err(Failure::refuse("", "Nothing in this file is new, so there is nothing to take."));
    }
    let row = ImportTaken {
        kind: kind.to_string(),
        digest: digest(&opened.file),
        name: opened.file.name.clone(),
        made: i64::try_from(made).unwrap_or(i64::MAX),
        taken_by: doing.actor.clone(),
        taken_at: doing.now.at,
    };
    imports::mark_taken(tx, &row)?;
    imports::remove(tx, id)?;
    let line = format!("{} were taken from the list “{}”: {made} lines", kind.label(), opened.file.name);
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(Taken { made, there: done.count(Fate::There), left_out: done.count(Fate::LeftOut) })
}
