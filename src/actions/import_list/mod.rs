//! A list from a spreadsheet on its way into the book: kept for a day, its columns matched, tried out, and taken whole or not at all.
//!
//! What it would make is found out by making it, through the acts that pages use, in a transaction that is taken back
//! ([`rehearse`]): so what the page shows is what the button does, and no rule stands here a second time.

use super::sheet_in::{self, KEPT};
use super::{Doing, Failure, Problems};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::ImportFileId;
use crate::book::imports;
use crate::book::rows::imports::{ImportColumns, ImportFile, ImportTaken, NewImportFile};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::secret;
use crate::trade::import_file::{Kind, MOST_LINES, guessed, mismatched};
use crate::trade::sheet_file::Table;
use crate::trade::sheet_file::columns::{Matched, remember, remembered};

mod carry;
mod head;
mod money;
mod orders;
mod people;
mod rehearse;
mod selling;
mod take;

pub use carry::{Fate, Preview, Row};
pub use rehearse::rehearse;
pub use take::{Take, Taken, take_list};

/// Keeps a list that [`sheet_in::open`] read; it is forgotten when it was taken, and when another one comes a day later.
///
/// # Errors
/// [`Failure::Refused`] when it has more lines than are taken at once.
pub fn keep_list(tx: &mut Tx, doing: &Doing, kind: Kind, name: &str, text: &str) -> Result<ImportFileId, Failure> {
    let lines = sheet_in::table(text)?.lines.len();
    if lines > MOST_LINES {
        let says = format!("The file has {lines} lines, and at most {MOST_LINES} are taken at once. Send it in parts.");
        return Err(Failure::refuse("file", says));
    }
    let name = if name.is_empty() { format!("{kind}.csv") } else { name.to_string() };
    let new = NewImportFile { kind: kind.to_string(), name, content: text.to_string(), made_at: doing.now.at };
    Ok(imports::add(tx, &new, At(doing.now.at.0.saturating_sub(KEPT)))?)
}

/// A list that waits, with its table and columns.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The list.
    pub file: ImportFile,
    /// What it is about.
    pub kind: Kind,
    /// Its table.
    pub table: Table,
    /// What was matched for such headings before, else what the headings suggest.
    pub columns: Matched,
    /// Whether somebody matched them.
    pub is_matched: bool,
    /// When the same list was taken before.
    pub taken: Option<ImportTaken>,
}

/// What a list's text is known by when it comes again.
fn digest(file: &ImportFile) -> String {
    secret::hash(&file.content)
}

/// Opens a list that waits.
///
/// # Errors
/// [`Failure::NotFound`] when it was taken or forgotten.
pub fn look(c: &mut DbConn, kind: Kind, id: ImportFileId) -> Result<Opened, Failure> {
    let file = imports::get(c, kind.as_str(), id)?;
    let table = sheet_in::table(&file.content)?;
    let row = imports::columns(c, kind.as_str())?;
    let known = sheet_in::known(row.as_ref().map(|r| r.document.as_str()));
    let matched = remembered(&known, &table.headings).filter(|m| mismatched(kind, &table, m).is_empty()).cloned();
    let taken = imports::taken(c, kind.as_str(), &digest(&file))?;
    let is_matched = matched.is_some();
    let columns = matched.unwrap_or_else(|| guessed(kind, &table.headings));
    Ok(Opened { file, kind, table, columns, is_matched, taken })
}

/// Remembers which column is which for these headings.
///
/// # Errors
/// [`Failure::Refused`] with a sentence for each field (by its word) that cannot be so.
pub fn match_columns(
    tx: &mut Tx,
    doing: &Doing,
    kind: Kind,
    id: ImportFileId,
    columns: &Matched,
) -> Result<(), Failure> {
    let opened = look(tx.conn(), kind, id)?;
    let mut problems = Problems::default();
    for (field, says) in mismatched(kind, &opened.table, columns) {
        problems.add(field.as_str(), says);
    }
    problems.check()?;
    let row = imports::columns(tx.conn(), kind.as_str())?;
    let known = sheet_in::known(row.as_ref().map(|r| r.document.as_str()));
    let all = remember(known, &opened.table.headings, columns.clone());
    let document = sheet_in::document(&all)?;
    imports::put_columns(tx, &ImportColumns { kind: kind.to_string(), document, changed_at: doing.now.at })?;
    let line = format!("The columns of the list “{}” were matched", opened.file.name);
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}
