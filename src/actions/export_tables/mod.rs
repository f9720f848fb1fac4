//! Everything in the book as tables for spreadsheets, page by page, so that memory stays small; and all of them in one zip file.
//!
//! Headings are those that [`crate::trade::import_file`] understands, so that customers, offerings, animals, reservations and payments
//! can be taken into an empty book again.

use super::Failure;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::rows::farm::Farm;
use crate::trade::csv::{Cell, row};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::io::{Cursor, Write};
use zip::CompressionMethod;
use zip::write::{SimpleFileOptions, ZipWriter};

mod head;
mod money;
mod sales;
mod sheets;

crate::words! {
    /// A table that goes out.
    pub enum Table {
        /// People.
        Customers = "customers", "Customers";
        /// A line for each price.
        Offerings = "offerings", "Offerings and prices";
        /// Every order.
        Reservations = "reservations", "Reservations";
        /// Every head.
        Animals = "animals", "Animals";
        /// Whose each quarter is.
        Placements = "placements", "Who owns what of each animal";
        /// What was weighed.
        WeighIns = "weigh-ins", "Weigh-ins";
        /// Cut sheets in words.
        CutSheets = "cut-sheets", "Cut sheets in words";
        /// Invoices.
        Invoices = "invoices", "Invoices";
        /// Their lines.
        InvoiceLines = "invoice-lines", "Lines of invoices";
        /// Money in and out.
        Payments = "payments", "Payments";
        /// What it was for.
        Allocations = "allocations", "What payments were put to";
        /// The processors' schedules.
        Charges = "charges", "Charges of processors";
    }
}

/// What all tables are written by.
#[derive(Debug, Clone)]
pub struct Ways {
    farm: Farm,
    today: NaiveDate,
}

impl Ways {
    /// The farm's unit and time zone, and the day.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn read(c: &mut DbConn, today: NaiveDate) -> Result<Self, Failure> {
        Ok(Self { farm: farm::get(c)?, today })
    }
    fn zone(&self) -> chrono_tz::Tz {
        self.farm.zone()
    }
}

/// Some rows of a table, and the key they end with when more follow.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rows {
    /// The rows, each ended.
    pub text: String,
    /// Where the next ones begin.
    pub next: Option<i64>,
}

impl Rows {
    fn push(&mut self, cells: &[Cell]) {
        self.text.push_str(&row(cells));
    }
    /// Says that more follow after `last` when a page of `limit` came back full.
    fn ends(mut self, count: usize, limit: i64, last: Option<i64>) -> Self {
        let full = i64::try_from(count).is_ok_and(|n| n >= limit);
        self.next = last.filter(|_| full);
        self
    }
}

fn figure(text: impl ToString) -> Cell {
    Cell::Figure(text.to_string())
}
fn day(day: Option<NaiveDate>) -> Cell {
    Cell::Figure(day.map(|d| d.to_string()).unwrap_or_default())
}
fn weight(weight: Option<Weight>) -> Cell {
    Cell::Figure(weight.map(Weight::plain).unwrap_or_default())
}
fn yes(is: bool) -> Cell {
    if is { "yes".into() } else { "".into() }
}

/// The line of headings.
pub fn headings(table: Table, ways: &Ways) -> String {
    let unit = ways.farm.unit.as_str();
    let names: Vec<String> = match table {
        Table::Customers => sales::customer_headings(),
        Table::Offerings => sales::price_headings(unit),
        Table::Reservations => sales::order_headings(),
        Table::Animals => head::animal_headings(),
        Table::Placements => head::place_headings(),
        Table::WeighIns => head::weigh_in_headings(unit),
        Table::CutSheets => sheets::headings(),
        Table::Invoices => money::invoice_headings(unit),
        Table::InvoiceLines => money::line_headings(),
        Table::Payments => money::payment_headings(),
        Table::Allocations => money::allocation_headings(),
        Table::Charges => money::charge_headings(),
    };
    row(&names.into_iter().map(Cell::from).collect::<Vec<_>>())
}

/// The rows of a table after a key; 0 for the first.
///
/// # Errors
/// When the book cannot be read.
pub fn rows(c: &mut DbConn, table: Table, ways: &Ways, after: i64) -> Result<Rows, Failure> {
    match table {
        Table::Customers => sales::customers(c, after),
        Table::Offerings => sales::prices(c, after),
        Table::Reservations => sales::orders(c, ways, after),
        Table::Animals => head::animals(c, after),
        Table::Placements => head::places(c, after),
        Table::WeighIns => head::weigh_ins(c, after),
        Table::CutSheets => sheets::sheets(c, ways, after),
        Table::Invoices => money::invoices(c, after),
        Table::InvoiceLines => money::lines(c, after),
        Table::Payments => money::payments(c, after),
        Table::Allocations => money::allocations(c, after),
        Table::Charges => money::charges(c, after),
    }
}

/// A whole table as text, for tests and small books.
///
/// # Errors
/// When the book cannot be read.
pub fn whole(c: &mut DbConn, table: Table, today: NaiveDate) -> Result<String, Failure> {
    let ways = Ways::read(c, today)?;
    let mut out = headings(table, &ways);
    let mut after = Some(0);
    while let Some(key) = after {
        let page = rows(c, table, &ways, key)?;
        out.push_str(&page.text);
        after = page.next;
    }
    Ok(out)
}

/// All tables and the ledger in one zip file. One page of rows is held at a time, beside the packed file.
///
/// # Errors
/// When the book cannot be read.
pub fn everything(c: &mut DbConn, today: NaiveDate) -> Result<Vec<u8>, Failure> {
    let failed = |e: String| Failure::Unexpected(format!("the tables could not be packed: {e}"));
    let ways = Ways::read(c, today)?;
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for table in Table::ALL {
        zip.start_file(format!("{table}.csv"), options).map_err(|e| failed(e.to_string()))?;
        zip.write_all(headings(*table, &ways).as_bytes()).map_err(|e| failed(e.to_string()))?;
        let mut after = Some(0);
        while let Some(key) = after {
            let page = rows(c, *table, &ways, key)?;
            zip.write_all(page.text.as_bytes()).map_err(|e| failed(e.to_string()))?;
            after = page.next;
        }
    }
    zip.start_file("ledger.csv", options).map_err(|e| failed(e.to_string()))?;
    zip.write_all(super::export_ledger::table(c, today)?.as_bytes()).map_err(|e| failed(e.to_string()))?;
    Ok(zip.finish().map_err(|e| failed(e.to_string()))?.into_inner())
}
