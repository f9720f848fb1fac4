//! How a table is laid out: what stands between its cells, and which line has the headings.

use super::{Line, figure};

/// What stands between the cells of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// A tab.
    Tab,
    /// A vertical bar; old programs write it.
    Bar,
    /// A semicolon; usual where the comma is the decimal mark.
    Semicolon,
    /// A comma.
    Comma,
}

impl Separator {
    /// In the order in which one is taken when several would do: a comma stands in figures and sentences most easily.
    pub const ALL: [Self; 4] = [Self::Tab, Self::Bar, Self::Semicolon, Self::Comma];
    /// The byte.
    pub const fn byte(self) -> u8 {
        match self {
            Self::Tab => b'\t',
            Self::Bar => b'|',
            Self::Semicolon => b';',
            Self::Comma => b',',
        }
    }
    /// The character.
    pub const fn char(self) -> char {
        self.byte() as char
    }
    /// "semicolon".
    pub const fn label(self) -> &'static str {
        match self {
            Self::Tab => "tab",
            Self::Bar => "vertical bar",
            Self::Semicolon => "semicolon",
            Self::Comma => "comma",
        }
    }
}

/// What is looked at to find the separator.
const LINES_LOOKED_AT: usize = 60;

/// A first line “sep=;”, which some spreadsheets write and read, the text below it, and how many lines that skipped.
pub fn declared(text: &str) -> (Option<Separator>, &str, usize) {
    let Some((first, rest)) = text.split_once('\n') else { return (None, text, 0) };
    let Some(said) = first.trim_matches(['"', ' ', '\u{feff}']).strip_prefix("sep=") else { return (None, text, 0) };
    match Separator::ALL.into_iter().find(|s| said.starts_with(s.char())) {
        Some(separator) => (Some(separator), rest, 1),
        None => (None, text, 0),
    }
}

/// The separator by which most lines have the same number of cells, more than one.
pub fn separator(text: &str) -> Separator {
    let beginning: String =
        text.lines().filter(|l| !l.trim().is_empty()).take(LINES_LOOKED_AT).fold(String::new(), |mut all, line| {
            all.push_str(line);
            all.push('\n');
            all
        });
    let agreeing = |separator: Separator| {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator.byte())
            .from_reader(beginning.as_bytes());
        let mut widths: Vec<usize> = reader.records().flatten().map(|r| r.len()).filter(|n| *n > 1).collect();
        widths.sort_unstable();
        widths.chunk_by(|a, b| a == b).map(<[usize]>::len).max().unwrap_or(0)
    };
    let mut best = (0, Separator::Comma);
    for separator in Separator::ALL {
        let n = agreeing(separator);
        if n > best.0 {
            best = (n, separator);
        }
    }
    best.1
}

/// Which of the first lines has the headings: the first one whose cells are words, not figures, and that fills as many cells as any
/// line of words. A title above them fills fewer.
pub fn headings(lines: &[Line]) -> Option<usize> {
    let filled = |l: &Line| l.cells.iter().filter(|c| !c.is_empty()).count();
    let words = |l: &Line| l.cells.iter().filter(|c| !c.is_empty()).all(|c| !figure::looks_like_one(c));
    let widest = lines.iter().filter(|l| words(l)).map(filled).max()?;
    // Four fifths, because a column in the middle may have no heading.
    let wide = |l: &Line| filled(l).saturating_mul(5) >= widest.saturating_mul(4);
    lines.iter().position(|l| words(l) && wide(l))
}
