//! Tables as text for spreadsheets (RFC 4180), in which no cell is taken for a formula.

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// What somebody may have typed. A spreadsheet must not reckon with it.
    Text(String),
    /// A figure of ours: digits, a point and a minus sign at most.
    Figure(String),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_string())
    }
}
impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

/// Characters with which a cell begins that a spreadsheet takes for a formula, with the full-width ones that some turn into them
/// (OWASP, "CSV Injection").
const FORMULA: &[char] = &['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];

/// Whether a spreadsheet would take the text for a formula, apostrophes in front of it or not.
fn could_be_formula(text: &str) -> bool {
    text.trim_start_matches([' ', '\'']).starts_with(FORMULA)
}

/// A text as it was before [`row`] put an apostrophe in front of it; any other text as it is.
pub fn unguarded(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|rest| could_be_formula(rest)).unwrap_or(cell)
}

/// One row: cells between commas, ended by CRLF. A text that could be a formula has an apostrophe in front.
pub fn row(cells: &[Cell]) -> String {
    let written: Vec<String> = cells
        .iter()
        .map(|cell| match cell {
            Cell::Figure(figure) => figure.clone(),
            Cell::Text(text) => {
                let safe = if could_be_formula(text) { format!("'{text}") } else { text.clone() };
                if safe.contains(['"', ',', '\r', '\n']) || safe != safe.trim() {
                    format!("\"{}\"", safe.replace('"', "\"\""))
                } else {
                    safe
                }
            }
        })
        .collect();
    written.join(",") + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_never_a_formula() {
        for bad in ["=1+1", "+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1"] {
            let written = row(&[bad.into()]);
            assert!(written.trim_start_matches('"').starts_with('\''), "{bad:?}: {written:?}");
        }
        assert_eq!(row(&[Cell::Figure("-12.50".into()), "a-b".into()]), "-12.50,a-b\r\n");
    }

    #[test]
    fn the_apostrophe_in_front_comes_off_again_and_no_other() {
        for text in ["=1+1", "+1 715", "'=x", "''-2", " -3", "@a", "plain", "'tis", "O'Neil", "", "'"] {
            let Some(written) = row(&[text.into()]).strip_suffix("\r\n").map(|w| w.trim_matches('"').to_string())
            else {
                panic!("a row ends with CRLF")
            };
            assert_eq!(unguarded(&written), text);
        }
        assert_eq!(unguarded("'tis"), "'tis");
    }

    #[test]
    fn commas_quotes_and_line_ends_stay_in_their_cell() {
        assert_eq!(
            row(&["a,b".into(), "say \"x\"".into(), "two\nlines".into()]),
            "\"a,b\",\"say \"\"x\"\"\",\"two\nlines\"\r\n"
        );
        let cells = ["plain", "", " blank ", "Þóra, \"N\"", "a\r\nb"];
        let written = row(&cells.map(Cell::from));
        let mut read = csv::ReaderBuilder::new().has_headers(false).from_reader(written.as_bytes());
        let back: Vec<String> = read.records().next().unwrap().unwrap().iter().map(String::from).collect();
        assert_eq!(back, cells);
    }
}
