//! Carrying a list out, line by line, and what became of each.

use super::{Opened, head, money, orders, people, selling};
use crate::actions::{Doing, Failure};
use crate::book::farm;
use crate::book::store::Tx;
use crate::secret;
use crate::trade::import_file::{Kind, Said, read};
use crate::trade::sheet_file::Fault;

crate::words! {
    /// What becomes of a line.
    pub enum Fate {
        /// It makes something.
        New = "new", "New";
        /// What it says is in the book already.
        There = "there", "In the book already";
        /// It is left out, and the line says why.
        LeftOut = "left_out", "Left out";
    }
}

/// A line, and what becomes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line in the file.
    pub line: usize,
    /// What becomes of it.
    pub fate: Fate,
    /// What it is: "Ines Halvard", "Half beef, Fall 2027, for Ines Halvard".
    pub what: String,
    /// Particulars, or why it is left out.
    pub detail: String,
}

/// What became of every line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Preview {
    /// The lines that can be used, in the order of the file.
    pub rows: Vec<Row>,
    /// What has to be corrected before anything is taken, in the order of the file.
    pub faults: Vec<Fault>,
    /// Changes when anything does that this rests on.
    pub fingerprint: String,
}

impl Preview {
    /// How many lines have this fate.
    pub fn count(&self, fate: Fate) -> usize {
        self.rows.iter().filter(|r| r.fate == fate).count()
    }
    pub(super) fn row(&mut self, line: usize, fate: Fate, what: impl Into<String>, detail: impl Into<String>) {
        self.rows.push(Row { line, fate, what: what.into(), detail: detail.into() });
    }
    pub(super) fn fault(&mut self, line: usize, says: impl Into<String>) {
        self.faults.push(Fault::line(line, says));
    }
    /// What an act gave; none when a rule refused it, which is a fault of the line then.
    pub(super) fn done<T>(&mut self, line: usize, result: Result<T, Failure>) -> Result<Option<T>, Failure> {
        match result {
            Ok(value) => Ok(Some(value)),
            Err(Failure::Refused(problems)) => {
                let ended = |s: String| if s.ends_with(['.', '!', '?']) { s } else { format!("{s}.") };
                let says: Vec<String> = problems.0.into_iter().map(|p| ended(p.sentence)).collect();
                self.fault(line, says.join(" "));
                Ok(None)
            }
            Err(other) => Err(other),
        }
    }
}

/// Carries a list out in this transaction. Where there are faults nothing may stay of it: the transaction has to be taken back.
///
/// # Errors
/// The book's own; what rules refuse becomes faults.
pub(super) fn carry_out(tx: &mut Tx, doing: &Doing, opened: &Opened) -> Result<Preview, Failure> {
    let unit = farm::get(tx.conn())?.unit;
    let lines = read(opened.kind, &opened.table, &opened.columns, unit);
    let mut all = Preview { faults: lines.faults, ..Preview::default() };
    let said = lines.said;
    match opened.kind {
        Kind::Customers => people::carry(tx, doing, &mut all, said.iter().filter_map(|(n, s)| of(*n, person(s))))?,
        Kind::Offerings => {
            let lines: Vec<_> = said.iter().filter_map(|(n, s)| of(*n, price(s))).collect();
            selling::carry(tx, doing, &mut all, &lines)?;
        }
        Kind::Animals => head::carry(tx, doing, &mut all, said.iter().filter_map(|(n, s)| of(*n, an_animal(s))))?,
        Kind::Reservations => {
            let lines: Vec<_> = said.iter().filter_map(|(n, s)| of(*n, claim(s))).collect();
            orders::carry(tx, doing, &mut all, lines)?;
        }
        Kind::Payments => money::carry(tx, doing, &mut all, said.iter().filter_map(|(n, s)| of(*n, paid(s))))?,
    }
    all.rows.sort_by_key(|r| r.line);
    all.faults.sort_by_key(|f| f.line);
    all.fingerprint = secret::hash(&format!("{} {:?} {:?} {:?}", opened.kind, opened.columns, all.rows, all.faults));
    Ok(all)
}

fn of<T>(line: usize, said: Option<T>) -> Option<(usize, T)> {
    said.map(|s| (line, s))
}

const fn person(said: &Said) -> Option<&crate::trade::import_file::Person> {
    if let Said::Person(p) = said { Some(p) } else { None }
}
const fn price(said: &Said) -> Option<&crate::trade::import_file::PriceLine> {
    if let Said::Price(p) = said { Some(p) } else { None }
}
const fn an_animal(said: &Said) -> Option<&crate::trade::import_file::Head> {
    if let Said::Head(h) = said { Some(h) } else { None }
}
const fn claim(said: &Said) -> Option<&crate::trade::import_file::Claim> {
    if let Said::Claim(c) = said { Some(c) } else { None }
}
const fn paid(said: &Said) -> Option<&crate::trade::import_file::MoneyLine> {
    if let Said::Money(m) = said { Some(m) } else { None }
}
