//! A statement as a table: what its columns may say, guessed from their headings, and its lines.

use super::{Entry, LONGEST_REFERENCE, LONGEST_WORDS, amount, day, one_line};
use crate::trade::money::Money;
use crate::trade::sheet_file::columns::{Matched, Wanted, guess};
use crate::trade::sheet_file::{Fault, Table};

crate::words! {
    /// What a column of a statement may say.
    pub enum Field {
        /// The day the bank posted it.
        Day = "day", "Day";
        /// Added or taken off, in one column.
        Amount = "amount", "Amount, added and taken off in one column";
        /// What was added.
        Added = "added", "Money in";
        /// What was taken off.
        TakenOff = "taken_off", "Money out";
        /// Whether the amount was added or taken off.
        Sign = "sign", "Debit or credit, in words";
        /// Who and what for.
        Words = "words", "Description";
        /// More of the same.
        More = "more", "More of the description";
        /// The check's number.
        Check = "check", "Check number or reference";
        /// Posted or pending.
        Status = "status", "Posted or pending";
    }
}

impl Field {
    /// Headings that mean it (plain words that banks' tables share), the surest first.
    const fn words(self) -> &'static [&'static str] {
        match self {
            Self::Day => &[
                "posting date",
                "posted date",
                "post date",
                "date posted",
                "booking date",
                "date",
                "transaction date",
                "day",
            ],
            Self::Amount => &["amount", "transaction amount", "amount usd", "value"],
            Self::Added => {
                &["credit", "credits", "money in", "paid in", "deposit", "deposits", "credit amount", "amount credit"]
            }
            Self::TakenOff => &[
                "debit",
                "debits",
                "money out",
                "paid out",
                "withdrawal",
                "withdrawals",
                "debit amount",
                "amount debit",
            ],
            Self::Sign => {
                &["credit or debit", "credit debit indicator", "cr dr", "dr cr", "credit debit", "debit credit", "type"]
            }
            Self::Words => {
                &["description", "details", "payee", "name", "narrative", "transaction description", "particulars"]
            }
            Self::More => &["memo", "extended description", "notes", "additional information", "purpose"],
            Self::Check => &["check number", "check no", "check #", "check", "reference number", "reference", "slip #"],
            Self::Status => &["status"],
        }
    }
}

/// The columns as their headings suggest. Never a match to rely on unseen: the farmer looks it over.
pub fn guessed(headings: &[String]) -> Matched {
    // What can only be one thing is asked for first, so that "Credit or debit" is no column of credits.
    let first = [Field::Sign, Field::Check, Field::Status];
    let wanted = |f: &Field| Wanted { key: f.as_str(), words: f.words() };
    let mut found = guess(&first.iter().map(wanted).collect::<Vec<_>>(), headings);
    let hidden = |n: usize, found: &Matched| found.values().any(|taken| *taken == n);
    let rest: Vec<String> = headings
        .iter()
        .enumerate()
        .map(|(n, h)| {
            let is_balance = h.to_lowercase().contains("balance");
            if hidden(n, &found) || is_balance { String::new() } else { h.clone() }
        })
        .collect();
    let others: Vec<Wanted> = Field::ALL.iter().filter(|f| !first.contains(f)).map(wanted).collect();
    found.extend(guess(&others, &rest));
    // One column with both is enough; the two others beside it would say it twice.
    if found.contains_key(Field::Amount.as_str())
        && !(found.contains_key(Field::Added.as_str()) && found.contains_key(Field::TakenOff.as_str()))
    {
        found.remove(Field::Added.as_str());
        found.remove(Field::TakenOff.as_str());
    } else if found.contains_key(Field::Added.as_str()) && found.contains_key(Field::TakenOff.as_str()) {
        found.remove(Field::Amount.as_str());
        found.remove(Field::Sign.as_str());
    }
    found
}

/// What is wrong with how columns were matched: a sentence for a field. Empty when the file can be read so.
pub fn mismatched(table: &Table, columns: &Matched) -> Vec<(Field, String)> {
    let at = |field: Field| columns.get(field.as_str()).copied();
    let mut wrong = Vec::new();
    if at(Field::Day).is_none() {
        wrong.push((Field::Day, "Choose the column with the days.".to_string()));
    }
    if at(Field::Words).is_none() {
        wrong.push((Field::Words, "Choose the column that says who paid and what for.".to_string()));
    }
    let (amount, added, off) = (at(Field::Amount), at(Field::Added), at(Field::TakenOff));
    if amount.is_none() && added.is_none() {
        let says = "Choose the column of the amounts, or that of money in and that of money out.";
        wrong.push((Field::Amount, says.to_string()));
    }
    if amount.is_some() && (added.is_some() || off.is_some()) {
        let says = "Choose either one column of amounts or the two of money in and money out, not both.";
        wrong.push((Field::Amount, says.to_string()));
    }
    if at(Field::Sign).is_some() && amount.is_none() {
        wrong.push((Field::Sign, "This goes with one column of amounts. Leave it out here.".to_string()));
    }
    for field in Field::ALL {
        let Some(n) = at(*field) else { continue };
        if n >= table.headings.len() {
            wrong.push((*field, "This file has no such column. Choose another.".to_string()));
        }
        let same = Field::ALL.iter().take_while(|f| *f != field).find(|f| at(**f) == Some(n));
        if let Some(same) = same {
            wrong.push((*field, format!("This column is “{}” already. Choose another.", same.label())));
        }
    }
    wrong
}

/// All lines of a statement.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lines {
    /// Those that can be used, in the order of the file.
    pub entries: Vec<Entry>,
    /// Lines that are pending at the bank, and come again when they are posted.
    pub pending: usize,
    /// What is wrong with the others.
    pub faults: Vec<Fault>,
}

/// Reads every line. Lines without an amount and a day (a total, a remark) and those of nothing are passed over.
pub fn read(table: &Table, columns: &Matched) -> Lines {
    let at = |field: Field| columns.get(field.as_str()).copied();
    let cells = |n: Option<usize>| table.lines.iter().filter_map(move |l| n.map(|n| l.cell(n)));
    let amounts = [at(Field::Amount), at(Field::Added), at(Field::TakenOff)];
    let style = amount::style(amounts.into_iter().flat_map(cells).filter(|c| !c.is_empty()));
    let order = day::order(cells(at(Field::Day)));
    let mut out = Lines::default();
    for line in &table.lines {
        let cell = |field: Field| at(field).map_or("", |n| line.cell(n));
        let is_pending = cell(Field::Status).to_lowercase().contains("pending");
        if is_pending {
            out.pending = out.pending.saturating_add(1);
            continue;
        }
        if let Some(fault) = table.too_long(line) {
            out.faults.push(fault);
            continue;
        }
        let fault = |field: Field, says: String| table.fault(line, at(field).unwrap_or(0), says);
        let cents = match cents(cell, style) {
            Ok(None) => continue,
            Ok(Some(cents)) => cents,
            Err((field, says)) => {
                out.faults.push(fault(field, says));
                continue;
            }
        };
        let day = match day::read(cell(Field::Day), order) {
            Ok(day) => day,
            // "Total" below the lines.
            Err(_) if cell(Field::Day).is_empty() => continue,
            Err(says) => {
                out.faults.push(fault(Field::Day, says));
                continue;
            }
        };
        if cents.is_zero() {
            continue;
        }
        out.entries.push(entry(day, cents, cell));
    }
    out
}

fn entry<'l>(day: chrono::NaiveDate, amount: Money, cell: impl Fn(Field) -> &'l str) -> Entry {
    let (words, more) = (cell(Field::Words), cell(Field::More));
    let words = if more.is_empty() || more == words { words.to_string() } else { format!("{words} {more}") };
    let reference = cell(Field::Check);
    let reference = if reference.bytes().all(|b| b == b'0') { "" } else { reference };
    Entry {
        day,
        amount,
        words: one_line(&words, LONGEST_WORDS),
        reference: one_line(reference, LONGEST_REFERENCE),
        id: None,
    }
}

/// The amount of a line, added or taken off; none when no cell has one.
fn cents<'l>(
    cell: impl Fn(Field) -> &'l str,
    style: crate::trade::sheet_file::figure::Style,
) -> Result<Option<Money>, (Field, String)> {
    let read = |field: Field| amount::read(cell(field), style).map_err(|says| (field, says));
    if let Some(amount) = read(Field::Amount)? {
        let word = cell(Field::Sign);
        return match amount::takes_off(word.split_whitespace().next().unwrap_or("")) {
            Some(true) if amount.is_positive() => Ok(Some(amount.negated())),
            Some(false) if !amount.is_positive() && !amount.is_zero() => Err((
                Field::Sign,
                "The amount is below zero and this column says it was added. Correct one of them.".into(),
            )),
            _ => Ok(Some(amount)),
        };
    }
    let (added, off) = (read(Field::Added)?, read(Field::TakenOff)?);
    let off = off.map(|m| if m.is_positive() { m.negated() } else { m });
    match (added.filter(|m| !m.is_zero()), off.filter(|m| !m.is_zero())) {
        (Some(_), Some(_)) => {
            Err((Field::Added, "Both money in and money out stand here. One of them should be blank.".into()))
        }
        (one, other) => Ok(one.or(other)),
    }
}
