//! What the acts share that read a table of another program: its text, what is remembered of its columns, and saying its faults.

use super::{Failure, Problems};
use crate::trade::sheet_file::columns::Known;
use crate::trade::sheet_file::{Fault, Table, decode};

/// How long a file waits to be looked over: a day, in milliseconds.
pub const KEPT: i64 = 24 * 60 * 60 * 1000;

/// So many faulty lines are said one by one.
const SAID: usize = 20;

/// The text of a file that is a table, before anything is kept. It may take a moment: not in a transaction.
///
/// # Errors
/// [`Failure::Refused`] about the field `file` when it is no table.
pub fn open(bytes: &[u8]) -> Result<String, Failure> {
    let refused = |f: Fault| Failure::refuse("file", f.sentence());
    let (text, _) = decode(bytes).map_err(refused)?;
    Table::read(&text).map_err(refused)?;
    Ok(text)
}

/// The table of a text that [`open`] read.
///
/// # Errors
/// [`Failure::Refused`] when it is none.
pub fn table(text: &str) -> Result<Table, Failure> {
    Table::read(text).map_err(|f| Failure::refuse("", f.sentence()))
}

/// What is remembered of columns. What an older Gambrel wrote and this one cannot read is matched anew.
pub fn known(document: Option<&str>) -> Vec<Known> {
    document.and_then(|d| serde_json::from_str(d).ok()).unwrap_or_default()
}

/// The same as it is stored.
///
/// # Errors
/// [`Failure::Unexpected`] when it cannot be written.
pub fn document(known: &[Known]) -> Result<String, Failure> {
    serde_json::to_string(known).map_err(|e| Failure::Unexpected(e.to_string()))
}

/// Adds the first faults of a file about the field `lines`, and how many more there are.
pub fn say(problems: &mut Problems, faults: &[Fault]) {
    for fault in faults.iter().take(SAID) {
        problems.add("lines", fault.sentence());
    }
    let more = faults.len().saturating_sub(SAID);
    if more > 0 {
        problems.add("lines", format!("{more} more are like these. Correct the file and send it again."));
    }
}
