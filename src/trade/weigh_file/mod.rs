//! The weights of a processor's file: what its lines say of each head, or what is wrong with them, line by line.
//!
//! Pure: which head of the book a line is about, and whether its weights are plausible, is asked elsewhere.

use super::carcass::Hung;
use super::fold::fold;
use super::sheet_file::columns::{Matched, Wanted, guess, unfit};
use super::sheet_file::figure::unit_in;
use super::sheet_file::{Fault, Line, Table};
use super::vocabulary::CarcassBasis;
use super::weight::Unit;

mod line;

crate::words! {
    /// What a column of a file may say.
    pub enum Field {
        /// The animal's tag.
        Tag = "tag", "Tag";
        /// The plant's number of the carcass.
        Number = "number", "Carcass number";
        /// The left side's weight.
        Left = "left", "Left side";
        /// The right side's weight.
        Right = "right", "Right side";
        /// The whole carcass's weight.
        Total = "total", "Total";
        /// A quarter's weight.
        LeftFore = "left_fore", "Left forequarter";
        /// A quarter's weight.
        LeftHind = "left_hind", "Left hindquarter";
        /// A quarter's weight.
        RightFore = "right_fore", "Right forequarter";
        /// A quarter's weight.
        RightHind = "right_hind", "Right hindquarter";
        /// Hot or cold.
        Basis = "basis", "Hot or cold";
        /// Whether anything was condemned.
        Condemned = "condemned", "Condemned";
        /// Which parts, or why.
        Note = "note", "What was condemned, or why";
    }
}

impl Field {
    /// The columns of weights.
    pub const WEIGHTS: [Self; 7] =
        [Self::Left, Self::Right, Self::Total, Self::LeftFore, Self::LeftHind, Self::RightFore, Self::RightHind];

    /// Headings that mean it (plain words of the trade), the surest first. The longer ones of the quarters are asked for together
    /// with those of the sides, so that "Left fore" is no left side: see [`guessed`].
    const fn words(self) -> &'static [&'static str] {
        match self {
            Self::Tag => &["tag", "ear tag", "eartag", "animal", "head", "animal id", "id"],
            Self::Number => &["carcass no", "carcass number", "carcass #", "carcass", "kill no", "kill #", "hang tag"],
            Self::Left => &["left", "left side", "l side", "side 1", "l"],
            Self::Right => &["right", "right side", "r side", "side 2", "r"],
            Self::Total => &["total", "hanging weight", "hot weight", "hcw", "weight", "hanging wt", "wt"],
            Self::LeftFore => &["left fore", "left forequarter", "left front", "lf"],
            Self::LeftHind => &["left hind", "left hindquarter", "left rear", "lh"],
            Self::RightFore => &["right fore", "right forequarter", "right front", "rf"],
            Self::RightHind => &["right hind", "right hindquarter", "right rear", "rh"],
            Self::Basis => &["hot or cold", "hot cold", "basis", "h c"],
            Self::Condemned => &["condemned", "condemnation", "cond"],
            Self::Note => &["reason", "remarks", "note", "notes", "comment", "why"],
        }
    }

    const fn wanted(self) -> Wanted {
        Wanted { key: self.as_str(), words: self.words() }
    }
}

/// The columns as their headings suggest. Never a match to rely on unseen: the farmer looks it over.
pub fn guessed(headings: &[String]) -> Matched {
    let quarters = [Field::LeftFore, Field::LeftHind, Field::RightFore, Field::RightHind];
    let wanted: Vec<Wanted> = quarters.into_iter().map(Field::wanted).collect();
    let mut found = guess(&wanted, headings);
    // Columns that were taken are hidden from the others, and so are live weights.
    let is_live = |h: &str| fold(h).split(|c: char| !c.is_alphanumeric()).any(|w| w == "live");
    let rest: Vec<String> = headings
        .iter()
        .enumerate()
        .map(|(n, h)| if found.values().any(|taken| *taken == n) || is_live(h) { String::new() } else { h.clone() })
        .collect();
    let wanted: Vec<Wanted> = Field::ALL.iter().filter(|f| !quarters.contains(f)).map(|f| f.wanted()).collect();
    found.extend(guess(&wanted, &rest));
    found
}

/// What became of the head of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It hung; perhaps without parts, which are named.
    Hung {
        /// The weights.
        hung: Hung,
        /// What was condemned.
        condemned_parts: Option<String>,
    },
    /// The whole carcass was condemned, and why.
    Condemned(String),
    /// The line has no weight (yet); nothing is changed.
    NotYet,
}

/// One line that can be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The line in the file.
    pub line: usize,
    /// The tag as it stands there; may be empty.
    pub tag: String,
    /// The plant's number; may be empty.
    pub number: String,
    /// Hot or cold, where the line says it.
    pub basis: Option<CarcassBasis>,
    /// What became of it.
    pub fate: Fate,
}

/// All lines of a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lines {
    /// Those that can be used, in the order of the file.
    pub said: Vec<Said>,
    /// What is wrong with the others, in the same order; a line may have several.
    pub faults: Vec<Fault>,
}

/// What is wrong with how columns were matched: a sentence for a field. Empty when the file can be read so.
pub fn mismatched(table: &Table, columns: &Matched) -> Vec<(Field, String)> {
    let at = |field: Field| columns.get(field.as_str()).copied();
    let mut wrong = Vec::new();
    if at(Field::Tag).is_none() {
        wrong.push((
            Field::Tag,
            "Choose the column with the tags; without it no line can be told from another.".to_string(),
        ));
    }
    if Field::WEIGHTS.into_iter().all(|f| at(f).is_none()) && at(Field::Condemned).is_none() {
        wrong.push((Field::Total, "Choose at least one column with weights: both sides, or the total.".to_string()));
    }
    for (one, other) in [(Field::Left, Field::Right), (Field::Right, Field::Left)] {
        if at(one).is_some() && at(other).is_none() {
            let says = format!("Choose the column of the {} as well, or neither.", other.label().to_lowercase());
            wrong.push((other, says));
        }
    }
    let quarters = [Field::LeftFore, Field::LeftHind, Field::RightFore, Field::RightHind];
    if quarters.into_iter().any(|f| at(f).is_some()) {
        for field in quarters.into_iter().filter(|f| at(*f).is_none()) {
            wrong.push((
                field,
                format!("Choose the column of the {} as well, or no quarter at all.", field.label().to_lowercase()),
            ));
        }
    }
    let fields: Vec<(&str, &str)> = Field::ALL.iter().map(|f| (f.as_str(), f.label())).collect();
    for (key, says) in unfit(&fields, columns, table.headings.len()) {
        if let Ok(field) = key.parse() {
            wrong.push((field, says));
        }
    }
    wrong
}

/// What every line says, weights in the farm's unit. A unit that is another one is refused, in a heading or in a cell: weights are
/// never converted, because then the paper and the book would differ.
pub fn read(table: &Table, columns: &Matched, unit: Unit) -> Lines {
    let mut all = Lines::default();
    for field in Field::WEIGHTS {
        let Some(column) = columns.get(field.as_str()) else { continue };
        let heading = table.headings.get(*column).map_or("", String::as_str);
        if let Some(other) = unit_in(heading).filter(|u| *u != unit) {
            all.faults.push(Fault {
                line: Some(table.headings_line),
                column: Some((column.saturating_add(1), heading.to_string())),
                says: other_unit(other, unit),
            });
        }
    }
    if !all.faults.is_empty() {
        return all;
    }
    let style = line::style(table, columns);
    for line in &table.lines {
        if let Some(fault) = table.too_long(line) {
            all.faults.push(fault);
            continue;
        }
        match line::read(table, columns, style, unit, line) {
            Ok(Some(said)) => all.said.push(said),
            Ok(None) => {}
            Err(faults) => all.faults.extend(faults),
        }
    }
    all
}

/// The sentence for a unit that is not the farm's.
fn other_unit(other: Unit, farm: Unit) -> String {
    format!(
        "This weight is in {other} and the farm weighs in {farm}. Gambrel converts no weights. Ask the plant for a file in {farm}, or type what its paper says in {farm}."
    )
}

/// What stands in a field's column of a line.
fn cell<'a>(columns: &Matched, line: &'a Line, field: Field) -> &'a str {
    columns.get(field.as_str()).map_or("", |n| line.cell(*n))
}

#[cfg(test)]
mod tests;
