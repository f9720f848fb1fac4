//! What the pages share that take a table of another program: the file that was sent, its first lines, and which column is which.

use super::look::draft::Draft;
use super::look::form::FormIn;
use super::upload::Uploaded;
use crate::actions::{Failure, sheet_in};
use crate::trade::sheet_file::columns::Matched;
use crate::trade::sheet_file::{Line, MOST_BYTES, Table, shortened};
use actix_web::web;

/// Lines of the file that the page of columns shows.
const SHOWN: usize = 5;

/// The text of the file that was sent, read on a blocking thread.
///
/// # Errors
/// [`Failure::Refused`] about the field `file` when it is no table.
pub async fn text(sent: &mut Uploaded) -> Result<String, Failure> {
    if sent.is_too_large {
        let mb = MOST_BYTES / 1024 / 1024;
        let says = format!("The file has more than {mb} MB. Take out what is not needed, or send it in parts.");
        return Err(Failure::refuse("file", says));
    }
    let file = std::mem::take(&mut sent.file);
    web::block(move || sheet_in::open(&file)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
}

/// The beginning of a table, as `templates/parts/sheet.html` shows it.
pub struct FirstLines {
    /// What stands above the headings.
    pub above: Vec<String>,
    /// The headings; those that are empty have their number.
    pub headings: Vec<String>,
    /// The first lines below them.
    pub lines: Vec<Vec<String>>,
    /// How many more there are.
    pub more: usize,
    /// The columns to choose from: their number from 1, and their heading with an example.
    pub options: Vec<(String, String)>,
}

/// The beginning of a table.
pub fn first_lines(table: &Table) -> FirstLines {
    let heading = |(n, h): (usize, &String)| match h.is_empty() {
        true => format!("Column {}", n.saturating_add(1)),
        false => shortened(h),
    };
    let headings: Vec<String> = table.headings.iter().enumerate().map(heading).collect();
    let example = |n: usize| table.lines.iter().map(|l| l.cell(n)).find(|c| !c.is_empty());
    let options = headings.iter().enumerate().map(|(n, heading)| {
        let such = example(n).map(|e| format!(", such as {}", shortened(e))).unwrap_or_default();
        (n.saturating_add(1).to_string(), format!("{heading}{such}"))
    });
    let width = headings.len();
    let cells = |l: &Line| (0..width).map(|n| shortened(l.cell(n))).collect();
    FirstLines {
        above: table.above.iter().map(|a| shortened(a)).collect(),
        options: options.collect(),
        headings,
        lines: table.lines.iter().take(SHOWN).map(cells).collect(),
        more: table.lines.len().saturating_sub(SHOWN),
    }
}

/// A form with these columns chosen.
pub fn with_columns(draft: Draft, columns: &Matched) -> Draft {
    columns.iter().fold(draft, |draft, (key, n)| draft.with(key.clone(), n.saturating_add(1).to_string()))
}

/// The columns that were chosen for these fields, given with their labels.
pub fn chosen(form: &mut FormIn, fields: &[(&str, &str)]) -> Matched {
    let mut columns = Matched::new();
    for (key, label) in fields {
        let chosen = form.optional_id(key, label).flatten();
        if let Some(n) = chosen.and_then(|n| usize::try_from(n.saturating_sub(1)).ok()) {
            columns.insert((*key).to_string(), n);
        }
    }
    columns
}
