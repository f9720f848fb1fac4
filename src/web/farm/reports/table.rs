//! A table of a report: the same cells on the page and in its file, and each figure leads to what it is made of.

use crate::trade::csv;
use crate::trade::decimal::{grouped, plain};
use crate::trade::dressing;
use crate::trade::money::Money;
use crate::trade::report::behind::Behind;

/// What stands for nothing.
const NOTHING: &str = "—";

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// What people read.
    pub words: String,
    /// What stands in the file.
    file: csv::Cell,
    /// Where it leads; empty when nowhere.
    pub href: String,
    /// Its name on the page, so that a figure elsewhere can lead to it; empty when it has none.
    pub id: &'static str,
    /// Set at the right, as figures are.
    pub is_figure: bool,
}

impl Cell {
    /// Words.
    pub fn text(words: impl Into<String>) -> Self {
        let words = words.into();
        Self { file: words.as_str().into(), words, href: String::new(), id: "", is_figure: false }
    }
    /// Words that lead somewhere.
    pub fn link(href: impl Into<String>, words: impl Into<String>) -> Self {
        Self { href: href.into(), ..Self::text(words) }
    }
    fn figure(shown: String, plain: String) -> Self {
        Self { words: shown, file: csv::Cell::Figure(plain), href: String::new(), id: "", is_figure: true }
    }
    /// No figure.
    pub fn none() -> Self {
        Self::figure(NOTHING.into(), String::new())
    }
    /// An amount in cents.
    pub fn money(cents: i64) -> Self {
        let amount = Money::from_cents(cents);
        Self::figure(if cents == 0 { NOTHING.into() } else { amount.shown() }, amount.plain())
    }
    /// An amount that is known or not.
    pub fn maybe_money(amount: Option<Money>) -> Self {
        amount.map_or_else(Self::none, |m| Self::money(m.cents()))
    }
    /// A number of things.
    pub fn count(n: i64) -> Self {
        Self::figure(if n == 0 { NOTHING.into() } else { grouped(n, 0) }, n.to_string())
    }
    /// A weight in hundredths of the unit.
    pub fn weight(hundredths: i64) -> Self {
        let shown = if hundredths == 0 { NOTHING.into() } else { grouped(hundredths, 2) };
        Self::figure(shown, plain(hundredths, 2))
    }
    /// Tenths of one per cent.
    pub fn percent(tenths: Option<i64>) -> Self {
        tenths.map_or_else(Self::none, |n| Self::figure(dressing::shown(n), plain(n, 1)))
    }
    /// Leading to an address; nothing leads nowhere.
    #[must_use]
    pub fn to(mut self, href: String) -> Self {
        if self.words != NOTHING {
            self.href = href;
        }
        self
    }
    /// Leading to the lines of the ledger behind it.
    #[must_use]
    pub fn behind(self, behind: &Behind) -> Self {
        self.to(ledger(behind))
    }
    /// With a name on the page.
    #[must_use]
    pub const fn named(mut self, id: &'static str) -> Self {
        self.id = id;
        self
    }
    /// Whether it says nothing; a phone leaves it out.
    pub fn is_nothing(&self) -> bool {
        self.words == NOTHING || self.words.is_empty()
    }
}

/// A row: its first cell says what it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// A subtotal, a total, or neither.
    pub class: &'static str,
    /// Its cells.
    pub cells: Vec<Cell>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name on the page, and in the file's address.
    pub id: &'static str,
    /// Its heading.
    pub heading: String,
    /// What it says, in what order.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
    /// The file of it.
    pub file: String,
}

impl Table {
    /// An empty one.
    pub fn new(id: &'static str, heading: impl Into<String>, caption: impl Into<String>, columns: &[&str]) -> Self {
        Self {
            id,
            heading: heading.into(),
            caption: caption.into(),
            columns: columns.iter().map(|c| (*c).to_string()).collect(),
            rows: Vec::new(),
            file: String::new(),
        }
    }
    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row { class: "", cells });
    }
    /// Adds a subtotal.
    pub fn middle(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row { class: "mid", cells });
    }
    /// Adds the total.
    pub fn total(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row { class: "tot", cells });
    }
    /// Whether a column holds figures.
    pub fn is_figures(&self, column: &usize) -> bool {
        self.rows.iter().any(|r| r.cells.get(*column).is_some_and(|c| c.is_figure))
    }
    /// What a column is called beside its figure on a phone: "Came in, $" is "Came in $".
    pub fn key(&self, column: &usize) -> String {
        match self.columns.get(*column).and_then(|c| c.rsplit_once(", ")) {
            Some((name, unit)) if unit.chars().count() <= 2 => format!("{name} {unit} "),
            _ => self.columns.get(*column).map(|c| format!("{c} ")).unwrap_or_default(),
        }
    }
    /// As a file for spreadsheets.
    pub fn csv(&self) -> String {
        let headings: Vec<csv::Cell> = self.columns.iter().map(|c| c.as_str().into()).collect();
        let rows = self.rows.iter().map(|r| {
            let cells: Vec<csv::Cell> = r.cells.iter().map(|c| c.file.clone()).collect();
            csv::row(&cells)
        });
        std::iter::once(csv::row(&headings)).chain(rows).collect()
    }
}

/// An address with what is asked for, and a place on its page.
pub fn address(path: &str, pairs: &[(&str, String)], place: &str) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    for (name, value) in pairs {
        query.append_pair(name, value);
    }
    let query = query.finish();
    let place = if place.is_empty() { String::new() } else { format!("#{place}") };
    if query.is_empty() { format!("{path}{place}") } else { format!("{path}?{query}{place}") }
}

/// The page of the ledger with the lines behind a figure.
pub fn ledger(behind: &Behind) -> String {
    let pairs: Vec<_> = std::iter::once(("lines", "1".to_string())).chain(behind.pairs()).collect();
    address("/money/ledger", &pairs, "sum")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::ledger::Account;

    #[test]
    fn the_file_says_what_the_page_says() {
        let mut table = Table::new("t", "T", "", &["Month", "Came in, $", "Weight, lb", "Share"]);
        table.row(vec![Cell::text("=March"), Cell::money(-123_450), Cell::weight(8_250), Cell::percent(Some(597))]);
        table.total(vec![Cell::text("All, together"), Cell::money(0), Cell::none(), Cell::percent(None)]);
        assert_eq!(
            table.csv(),
            "Month,\"Came in, $\",\"Weight, lb\",Share\r\n'=March,-1234.50,82.50,59.7\r\n\"All, together\",0.00,,\r\n"
        );
        let shown: Vec<&str> = table.rows.iter().flat_map(|r| &r.cells).map(|c| c.words.as_str()).collect();
        assert_eq!(shown, ["=March", "−1,234.50", "82.50", "59.7 %", "All, together", "—", "—", "—"]);
        assert_eq!(table.key(&1), "Came in $ ");
        assert_eq!(table.key(&0), "Month ");
        assert_eq!(table.key(&9), "");
        assert!(table.is_figures(&1) && !table.is_figures(&0));
    }

    #[test]
    fn a_figure_leads_to_its_lines_and_nothing_leads_nowhere() {
        let mut behind = Behind::account(Account::SalesHog);
        behind.season = Some("Fall & Spring".into());
        assert_eq!(
            Cell::money(5).behind(&behind).href,
            "/money/ledger?lines=1&account=sales_hog&season=Fall+%26+Spring#sum"
        );
        assert_eq!(Cell::money(0).behind(&behind).href, "");
        assert_eq!(address("/reports", &[], ""), "/reports");
    }
}
