//! A table read from a file that somebody else's program wrote: bytes in, headings and lines out, or a sentence saying what to do.
//!
//! It knows nothing of what the table is about. Text is read as UTF-8 (with its mark or without), UTF-16 or Windows-1252; cells stand
//! between commas, semicolons, tabs or vertical bars; blank lines and titles above the headings are passed over. Figures in cells: [`figure`];
//! which column is which: [`columns`].

pub mod columns;
pub mod figure;
mod sniff;
mod text;

pub use sniff::Separator;
pub use text::{Written, decode};

/// The most bytes of a file: 5 MB.
pub const MOST_BYTES: usize = 5 * 1024 * 1024;
/// The most lines below the headings.
pub const MOST_ROWS: usize = 50_000;
/// The most columns.
pub const MOST_COLUMNS: usize = 200;
/// The most characters of a cell.
pub const LONGEST_CELL: usize = 2_000;
/// The headings stand in one of so many lines that hold something.
const HEADINGS_WITHIN: usize = 20;
/// A line of its own at the end, by which a quotation mark that is never closed is noticed. [`decode`] leaves no such character.
const END: &str = "\u{1}";

/// Why a file, or a place in it, cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The line in the file, from 1; none when it is about the whole.
    pub line: Option<usize>,
    /// The column from 1 and its heading, which may be empty.
    pub column: Option<(usize, String)>,
    /// What is wrong and what to do, in whole sentences.
    pub says: String,
}

impl Fault {
    /// A fault of the whole file.
    pub fn whole(says: impl Into<String>) -> Self {
        Self { line: None, column: None, says: says.into() }
    }
    /// A fault of a line.
    pub fn line(line: usize, says: impl Into<String>) -> Self {
        Self { line: Some(line), column: None, says: says.into() }
    }
    /// "Line 7, column 3 (Left): “12x” is not a figure. Write it like 389.5."
    pub fn sentence(&self) -> String {
        let column = self.column.as_ref().map(|(n, heading)| match heading.is_empty() {
            true => format!("column {n}"),
            false => format!("column {n} ({})", shortened(heading)),
        });
        match (self.line, column) {
            (Some(line), Some(column)) => format!("Line {line}, {column}: {}", self.says),
            (Some(line), None) => format!("Line {line}: {}", self.says),
            (None, Some(column)) => format!("In {column}: {}", self.says),
            (None, None) => self.says.clone(),
        }
    }
}

/// The first characters of a cell, as a sentence quotes it.
pub fn shortened(cell: &str) -> String {
    let short: String = cell.chars().take(40).collect();
    if short.len() < cell.len() { format!("{short}…") } else { short }
}

/// One line below the headings that holds something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Where it begins in the file, from 1.
    pub number: usize,
    /// Its cells without blanks around them; may be fewer than there are headings.
    pub cells: Vec<String>,
    /// Cells that hold several lines, by their column from 0, as they stand there; in `cells` they are on one line.
    pub several: Vec<(usize, String)>,
}

impl Line {
    /// The same with its line ends, for an address or notes.
    pub fn lines(&self, column: usize) -> &str {
        self.several.iter().find(|(n, _)| *n == column).map_or_else(|| self.cell(column), |(_, text)| text)
    }
    /// What stands in a column counted from 0; empty where the line is too short.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }
}

/// A table with its headings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What stands between its cells.
    pub separator: Separator,
    /// Its headings, at least one; the last is not empty.
    pub headings: Vec<String>,
    /// The line they stand in.
    pub headings_line: usize,
    /// What stands above them, one text for each line.
    pub above: Vec<String>,
    /// The lines below that hold something.
    pub lines: Vec<Line>,
}

impl Table {
    /// Reads a decoded text ([`decode`]).
    ///
    /// # Errors
    /// A [`Fault`] when it is no table, or larger than is read.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let (declared, text, skipped) = sniff::declared(text);
        let separator = declared.unwrap_or_else(|| sniff::separator(text));
        let mut lines = records(text, separator)?;
        for line in &mut lines {
            line.number = line.number.saturating_add(skipped);
        }
        let at = sniff::headings(lines.get(..HEADINGS_WITHIN.min(lines.len())).unwrap_or_default());
        let Some(at) = at else {
            return Err(Fault::whole(
                "No line of headings was found. The first line should name the columns, with a comma, semicolon or tab between them.",
            ));
        };
        let below = lines.split_off(at.saturating_add(1));
        let Some(mut headings) = lines.pop() else { return Err(Fault::whole("The file has no headings.")) };
        while headings.cells.last().is_some_and(String::is_empty) {
            headings.cells.pop();
        }
        if below.is_empty() {
            return Err(Fault::whole(format!(
                "Nothing stands below the headings in line {}. Send the file with its lines.",
                headings.number
            )));
        }
        if below.len() > MOST_ROWS {
            return Err(too_many());
        }
        let joined = |l: &Line| l.cells.iter().filter(|c| !c.is_empty()).cloned().collect::<Vec<_>>().join(" ");
        Ok(Self {
            separator,
            above: lines.iter().map(joined).collect(),
            headings: headings.cells,
            headings_line: headings.number,
            lines: below,
        })
    }

    /// The same from the bytes of a file.
    ///
    /// # Errors
    /// As [`Table::read`] and [`decode`].
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, Fault> {
        Self::read(&decode(bytes)?.0)
    }

    /// A fault of a cell.
    pub fn fault(&self, line: &Line, column: usize, says: impl Into<String>) -> Fault {
        let heading = self.headings.get(column).cloned().unwrap_or_default();
        Fault { line: Some(line.number), column: Some((column.saturating_add(1), heading)), says: says.into() }
    }

    /// What is wrong with a line that has more cells than there are headings. A decimal comma between commas makes such lines, and
    /// every cell behind it stands in the wrong column.
    pub fn too_long(&self, line: &Line) -> Option<Fault> {
        let filled = line.cells.iter().rposition(|c| !c.is_empty()).map_or(0, |n| n.saturating_add(1));
        if filled <= self.headings.len() {
            return None;
        }
        let says = format!(
            "{filled} cells stand here and there are {} headings. A {} inside a cell does that: put that cell between quotation marks.",
            self.headings.len(),
            self.separator.label()
        );
        Some(Fault::line(line.number, says))
    }
}

fn too_many() -> Fault {
    Fault::whole(format!("The file has more than {MOST_ROWS} lines. Take out what is not needed, or send it in parts."))
}

/// Every line that holds something, with its place in the file.
fn records(text: &str, separator: Separator) -> Result<Vec<Line>, Fault> {
    let whole = format!("{text}\n{END}\n");
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator.byte())
        .from_reader(whole.as_bytes());
    let mut lines: Vec<Line> = Vec::new();
    let (mut counted, mut line, mut ended) = (0_usize, 1_usize, false);
    let mut record = csv::StringRecord::new();
    loop {
        let from = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(_) => {
                return Err(Fault::line(
                    line,
                    "This line cannot be read. Save the file as CSV (UTF-8) and send it again.",
                ));
            }
        }
        // The reader passes over empty lines; they are counted here, so that a line has the number an editor shows.
        let bytes = whole.as_bytes();
        let begins = bytes.get(from..).and_then(|rest| rest.iter().position(|b| *b != b'\n')).unwrap_or(0);
        let begins = from.saturating_add(begins);
        line =
            line.saturating_add(bytes.get(counted..begins).unwrap_or_default().iter().filter(|b| **b == b'\n').count());
        counted = counted.max(begins);
        if record.len() == 1 && record.get(0) == Some(END) {
            ended = true;
            break;
        }
        if record.iter().any(|cell| cell.contains(END)) {
            break;
        }
        if let Some(found) = one(&record, line, separator)? {
            if lines.len() >= MOST_ROWS.saturating_add(HEADINGS_WITHIN) {
                return Err(too_many());
            }
            lines.push(found);
        }
    }
    if !ended {
        return Err(Fault::line(
            line,
            "A cell begins with a quotation mark and does not end with one. Close it, or take the quotation mark out.",
        ));
    }
    Ok(lines)
}

/// A record as a line; none when nothing stands in it.
fn one(record: &csv::StringRecord, number: usize, separator: Separator) -> Result<Option<Line>, Fault> {
    let cells: Vec<String> = record.iter().map(tidy).collect();
    if cells.iter().all(String::is_empty) {
        return Ok(None);
    }
    if cells.len() > MOST_COLUMNS {
        return Err(Fault::line(
            number,
            format!(
                "{} columns stand here and at most {MOST_COLUMNS} are read. Take out what is not needed.",
                cells.len()
            ),
        ));
    }
    for (n, (cell, raw)) in cells.iter().zip(record).enumerate() {
        let column = Some((n.saturating_add(1), String::new()));
        if cell.chars().count() > LONGEST_CELL {
            let says =
                format!("This cell has more than {LONGEST_CELL} characters. Shorten it, or close its quotation marks.");
            return Err(Fault { line: Some(number), column, says });
        }
        // A whole line inside a cell: two stray quotation marks found each other, and what stands between them would be lost.
        let swallowed =
            raw.split('\n').skip(1).any(|l| l.matches(separator.char()).count().saturating_add(1) >= cells.len());
        if swallowed && cells.len() > 1 {
            let says =
                "A quotation mark opens this cell and the lines after it are inside it. Close it, or take it out.";
            return Err(Fault { line: Some(number), column, says: says.into() });
        }
    }
    let several = record.iter().enumerate().filter(|(_, raw)| raw.trim().contains('\n'));
    let several = several.map(|(n, raw)| (n, raw.trim().to_string())).collect();
    Ok(Some(Line { number, cells, several }))
}

/// A cell on one line, without blanks around it, hard ones neither.
fn tidy(cell: &str) -> String {
    let blank = |c: char| c.is_whitespace() || matches!(c, '\u{feff}' | '\u{200b}');
    cell.trim_matches(blank).replace('\n', " ")
}

#[cfg(test)]
mod tests;
