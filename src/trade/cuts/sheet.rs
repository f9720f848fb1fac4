//! A cut sheet as plain values, what it is for, and what is said about it.

use super::BadCatalogue;
use super::catalogue::Catalogue;
use super::quarter::{is_own, of_share};
use crate::trade::share::{Part, Size, Species};
use crate::trade::weight::{Unit, Weight};
use serde::Serialize;
use std::collections::BTreeMap;

/// Some pieces of a block and what becomes of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slice {
    /// The choice.
    pub choice: String,
    /// How many pieces it gets; at least 1.
    pub pieces: u32,
}

/// A sausage that is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sausage {
    /// Its seasoning.
    pub seasoning: String,
    /// Its form.
    pub form: String,
    /// How much, in the unit of the hanging weight.
    pub weight: Weight,
}

/// One share's cutting instructions. An empty sheet is the standard cut.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sheet {
    /// The choice of each block; blocks left out take the standard cut.
    pub blocks: BTreeMap<String, String>,
    /// Blocks given out by their pieces.
    pub partitions: BTreeMap<String, Vec<Slice>>,
    /// Parameters as they were written; those left out take their defaults.
    pub parameters: BTreeMap<String, String>,
    /// Sausages taken out of the ground meat.
    pub sausage: Vec<Sausage>,
    /// Parts outside the hanging weight that are wanted.
    pub parts: Vec<String>,
}

/// What a sheet is for: a share, its hanging weight, and what is known of the animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hanging {
    /// The species.
    pub species: Species,
    /// The unit of `weight`.
    pub unit: Unit,
    /// The hanging weight of this share, known or expected.
    pub weight: Weight,
    /// The share.
    pub size: Size,
    /// What a quarter is of its side: half of everything, or of beef the forequarter or the hindquarter, whose own weight
    /// `weight` is then. [`Part::Split`] for every other share.
    pub part: Part,
    /// The animal's age in whole months, if known. Only cattle's matters.
    pub age_months: Option<u32>,
    /// Whether the head is kept.
    pub head_on: bool,
    /// Whether a hog was scalded and keeps its skin.
    pub skin_on: bool,
}

impl Hanging {
    /// From this age on, in months, the backbone of cattle is taken out (9 CFR 310.22).
    pub const OLD: u32 = 30;

    /// Whether backbone cuts are barred.
    pub fn from_30_months(&self) -> bool {
        self.species == Species::Beef && self.age_months.is_some_and(|age| age >= Self::OLD)
    }

    /// Whether it is a forequarter or a hindquarter of beef, with blocks of its own.
    pub fn is_own_quarter(&self) -> bool {
        is_own(self.species, self.size, self.part)
    }

    /// The catalogue its sheet is read by: that of the species, or of beef's forequarter or hindquarter.
    ///
    /// # Errors
    /// [`BadCatalogue`] as for [`super::catalogue()`].
    pub fn catalogue(&self) -> Result<&'static Catalogue, &'static BadCatalogue> {
        of_share(self.species, self.size, self.part)
    }

    /// By how many quarters of an animal its blocks are counted, 4 being the whole: a forequarter or hindquarter has all the
    /// pieces of its blocks that a half has.
    pub fn counted(&self) -> i64 {
        if self.is_own_quarter() { Size::Half.quarters() } else { self.size.quarters() }
    }

    /// "half", "forequarter": the share in a sentence.
    pub fn share_word(&self) -> &'static str {
        if self.is_own_quarter() { self.part.label() } else { self.size.label() }
    }
}

/// A rule that is broken, or a caution: which, where, and a sentence for the customer with the way out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Note {
    /// The number of the rule, such as `B1`.
    pub rule: String,
    /// The path in the input, such as `sheet.blocks.short_loin`.
    pub at: String,
    /// The sentence.
    pub why: String,
}

impl Note {
    /// A note.
    pub fn new(rule: &str, at: impl Into<String>, why: impl Into<String>) -> Self {
        Self { rule: rule.to_string(), at: at.into(), why: why.into() }
    }
}

/// Why there is no forecast for a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refused {
    /// Something is named that is not offered.
    Unknown {
        /// The path in the input.
        at: String,
        /// A sentence that says what is offered.
        error: String,
    },
    /// Rules are broken: all of them.
    Broken(Vec<Note>),
}

impl Refused {
    /// Something is named that is not offered.
    pub fn unknown(at: impl Into<String>, error: impl Into<String>) -> Self {
        Self::Unknown { at: at.into(), error: error.into() }
    }
    /// “x” is not known here; what is known.
    pub fn not_one_of<'a>(at: impl Into<String>, word: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        let short: String = word.chars().filter(|c| !c.is_control()).take(60).collect();
        let known: Vec<&str> = known.into_iter().collect();
        Self::unknown(at, format!("“{short}” is not known here. Choose one of: {}", known.join(", ")))
    }
}

/// Several things as people write them: “a”, “a and b”, “a, b and c”, with `and` or `or`.
pub fn listed(names: &[&str], word: &str) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_string(),
        [first @ .., last] => format!("{} {word} {last}", first.join(", ")),
    }
}
