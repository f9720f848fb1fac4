//! Lists that somebody kept in a spreadsheet: what their lines say of customers, offerings, animals, reservations and payments, or
//! what is wrong with them, line by line.
//!
//! Pure: who and what of the book a line is about is asked elsewhere. Texts, mail addresses, telephone numbers and days are held to
//! the rules of the forms.

use super::sheet_file::columns::{Matched, Wanted, guess, unfit};
use super::sheet_file::figure::unit_in;
use super::sheet_file::{Fault, Table};
use super::weight::Unit;

mod cells;
mod field;
mod kinds;
mod said;
mod words;

pub use field::Field;
pub use said::{Born, Claim, DepositIn, Head, Lines, MoneyLine, Person, PriceLine, Said, Who};

/// The most lines of one list: they are tried and taken in one transaction, while nobody else can save.
pub const MOST_LINES: usize = 10_000;

crate::words! {
    /// What a list is about.
    pub enum Kind {
        /// People.
        Customers = "customers", "Customers";
        /// What is for sale, a line for each price.
        Offerings = "offerings", "Offerings and prices";
        /// Each head.
        Animals = "animals", "Animals";
        /// Who has which share.
        Reservations = "reservations", "Reservations";
        /// Money that came in.
        Payments = "payments", "Payments";
    }
}

impl Kind {
    /// What its columns may say, in the order of the empty file.
    pub const fn fields(self) -> &'static [Field] {
        use Field as F;
        match self {
            Self::Customers => &[
                F::Name,
                F::FirstName,
                F::Mail,
                F::Phone,
                F::Address,
                F::Address2,
                F::City,
                F::State,
                F::Zip,
                F::Notes,
                F::NoOffers,
            ],
            Self::Offerings => &[
                F::Species,
                F::Season,
                F::HeadCount,
                F::Sells,
                F::Quarters,
                F::Low,
                F::High,
                F::Share,
                F::Basis,
                F::Price,
                F::DepositAsked,
                F::From,
                F::Notes,
            ],
            Self::Animals => {
                &[F::Tag, F::Species, F::Class, F::Sex, F::Born, F::Breed, F::OfficialId, F::Notes, F::Gone]
            }
            Self::Reservations => &[
                F::Name,
                F::FirstName,
                F::Mail,
                F::Phone,
                F::Offering,
                F::Species,
                F::Season,
                F::Quarters,
                F::Share,
                F::TakenOn,
                F::Price,
                F::Waiting,
                F::Cancelled,
                F::Wishes,
                F::Deposit,
                F::DepositOn,
                F::Method,
                F::Reference,
            ],
            Self::Payments => &[
                F::Name,
                F::FirstName,
                F::Mail,
                F::Phone,
                F::Amount,
                F::PaidOn,
                F::Method,
                F::Reference,
                F::Way,
                F::Order,
                F::Invoice,
                F::Notes,
            ],
        }
    }

    /// Columns without which no line can be read; of several in one group one is enough.
    const fn needed(self) -> &'static [&'static [Field]] {
        use Field as F;
        match self {
            Self::Customers => &[&[F::Name]],
            Self::Offerings => &[&[F::Species], &[F::Season], &[F::Share], &[F::Price]],
            Self::Animals => &[&[F::Tag], &[F::Class]],
            Self::Reservations => &[&[F::Name, F::Mail], &[F::Share]],
            Self::Payments => &[&[F::Name, F::Mail], &[F::Amount], &[F::PaidOn]],
        }
    }
}

/// The columns as their headings suggest. Never a match to rely on unseen: the farmer looks it over.
pub fn guessed(kind: Kind, headings: &[String]) -> Matched {
    let of = |field: &Field| Wanted { key: field.as_str(), words: field.words() };
    // "Deposit date" is no deposit: the longer headings are looked for first, and their columns hidden from the others.
    let (long, short): (Vec<&Field>, Vec<&Field>) = kind.fields().iter().partition(|f| f.is_longer());
    let mut found = guess(&long.into_iter().map(of).collect::<Vec<_>>(), headings);
    let taken: Vec<usize> = found.values().copied().collect();
    let hidden = |(n, h): (usize, &String)| if taken.contains(&n) { String::new() } else { h.clone() };
    let rest: Vec<String> = headings.iter().enumerate().map(hidden).collect();
    found.extend(guess(&short.into_iter().map(of).collect::<Vec<_>>(), &rest));
    found
}

/// What is wrong with how columns were matched: a sentence for a field. Empty when the list can be read so.
pub fn mismatched(kind: Kind, table: &Table, columns: &Matched) -> Vec<(Field, String)> {
    let mut wrong = Vec::new();
    for group in kind.needed() {
        let there = group.iter().any(|f| columns.contains_key(f.as_str()));
        if let (false, Some(first)) = (there, group.first()) {
            let names: Vec<String> = group.iter().map(|f| format!("“{}”", f.label())).collect();
            let says = format!("Choose the column of {}; without it no line can be read.", names.join(" or "));
            wrong.push((*first, says));
        }
    }
    let fields: Vec<(&str, &str)> = kind.fields().iter().map(|f| (f.as_str(), f.label())).collect();
    for (key, says) in unfit(&fields, columns, table.headings.len()) {
        if let Ok(field) = key.parse() {
            wrong.push((field, says));
        }
    }
    wrong
}

/// What every line says. A weight in another unit than the farm's is refused: nothing is converted.
pub fn read(kind: Kind, table: &Table, columns: &Matched, unit: Unit) -> Lines {
    let mut all = Lines::default();
    if table.lines.len() > MOST_LINES {
        let says = format!(
            "The file has {} lines, and at most {MOST_LINES} are taken at once. Send it in parts.",
            table.lines.len()
        );
        all.faults.push(Fault::whole(says));
        return all;
    }
    for field in [Field::Low, Field::High] {
        let Some(column) = columns.get(field.as_str()) else { continue };
        let heading = table.headings.get(*column).map_or("", String::as_str);
        if let Some(other) = unit_in(heading).filter(|u| *u != unit) {
            let says = cells::other_unit(other, unit);
            let column = Some((column.saturating_add(1), heading.to_string()));
            all.faults.push(Fault { line: Some(table.headings_line), column, says });
        }
    }
    if !all.faults.is_empty() {
        return all;
    }
    let ways = cells::Ways::of(table, columns, unit);
    for line in &table.lines {
        if let Some(fault) = table.too_long(line) {
            all.faults.push(fault);
            continue;
        }
        let mut cells = cells::Cells::new(table, columns, line, ways);
        if cells.is_empty() {
            continue;
        }
        let said = kinds::read(kind, &mut cells);
        match (said, cells.faults()) {
            (Some(said), faults) if faults.is_empty() => all.said.push((line.number, said)),
            (_, faults) if faults.is_empty() => {
                all.faults.push(Fault::line(line.number, "This line cannot be read. Correct it or take it out."));
            }
            (_, faults) => all.faults.extend(faults),
        }
    }
    all
}

#[cfg(test)]
mod tests;
