//! Two quarters of one side are cut as one side: where their cut sheets differ, what is cut, and who gets which pieces.
//!
//! The order of settling a block: equal wishes; one is blank and takes the other's; each has its own wish on its own part, where
//! the block can be given out by pieces; the standard cut until the farm decides; what the farm decided. Nothing here knows
//! names: whatever is said can be read by both. See [`settle`] for the settling, [`deal`] for the dealing out.

pub mod deal;
pub mod halves;
pub mod panel;
pub mod parts;
pub mod settle;
mod shared;
mod sheets;
#[cfg(test)]
mod tests;
pub mod two;
mod weighed;
pub mod wish;

use super::cuts::sheet::{Hanging, Sheet, Slice};
use parts::{Claim, PartDeal};
use std::collections::BTreeMap;
use two::{Two, Who};

pub use shared::PARAMETERS;

crate::words! {
    /// What the farm decided for a block of a side, or for something that holds for the whole side.
    pub enum Decision {
        /// The whole side as the first of the two quarters wishes.
        First = "first", "the first wish";
        /// The whole side as the second of the two quarters wishes.
        Second = "second", "the second wish";
        /// Each quarter its own wish on its own part.
        Pieces = "pieces", "each its own, by pieces";
        /// The standard cut.
        Standard = "standard", "the standard cut";
    }
}

/// Whose deposit came first: the time of the deposit, if there is one, and then the order's own number. A deposit goes before
/// none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// When the deposit came, in milliseconds since 1970; none if it has not come.
    pub deposit: Option<i64>,
    /// What settles ties: a number that grows with each order.
    pub order: i64,
}

impl Turn {
    /// What turns are sorted by, the earliest first.
    pub const fn rank(self) -> (bool, i64, i64) {
        match self.deposit {
            Some(at) => (false, at, self.order),
            None => (true, 0, self.order),
        }
    }
}

/// One of the two quarters.
#[derive(Debug, Clone, Copy)]
pub struct Quarter<'a> {
    /// Its cut sheet; none when it sent none, which is the same as one that leaves everything open.
    pub sheet: Option<&'a Sheet>,
    /// Its turn by deposit.
    pub turn: Turn,
}

/// One side with its two quarters.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The side: its species, what is known of the animal, and what it weighs. Its size is a half. Settling needs no weight.
    pub hanging: Hanging,
    /// The quarters.
    pub quarters: Two<Quarter<'a>>,
    /// What the other owners of the animal ask for of the parts outside the hanging weight.
    pub others: &'a [Claim<'a>],
    /// What the farm decided, by [`Item::id`].
    pub decided: &'a BTreeMap<String, Decision>,
}

impl Side<'_> {
    /// Whose deposit came first.
    pub fn earlier(&self) -> Who {
        let Two { first, second } = self.quarters;
        if second.turn.rank() < first.turn.rank() { Who::Second } else { Who::First }
    }
}

/// How something was settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settled {
    /// Neither has said anything: the standard cut.
    Unsaid,
    /// Both want the same.
    Same,
    /// Only one has said anything, and the side follows it.
    Follows(Who),
    /// They differ, and each has its own wish on its own part.
    Pieces,
    /// They differ and it is open: the standard cut until the farm decides.
    Open,
    /// They differ and the farm decided.
    Decided(Decision),
}

/// A block, or something that holds for the whole side such as how thick steaks are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The block's id, or the parameter's; of blocks that are cut together the first one's.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// The wishes in words; nothing where nothing was said.
    pub wishes: Two<Option<String>>,
    /// How it is settled.
    pub settled: Settled,
    /// What is cut, in words.
    pub takes: String,
    /// The standard cut in words.
    pub standard: String,
    /// Why, in a sentence that names no person.
    pub why: String,
    /// What the farm can decide; empty where the wishes do not differ.
    pub may: Vec<Decision>,
}

impl Item {
    /// Whether the farm has still to decide.
    pub fn is_open(&self) -> bool {
        self.settled == Settled::Open
    }
    /// Whether both have said something and it differs.
    pub const fn differs(&self) -> bool {
        matches!(self.settled, Settled::Pieces | Settled::Open | Settled::Decided(_))
    }
}

/// How a block of the side is cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cutting {
    /// In one way for the whole side.
    Side(Vec<Slice>),
    /// Each quarter its own part, as many pieces as its slices have.
    Own(Two<Vec<Slice>>),
}

/// What comes of two sheets of one side.
#[derive(Debug, Clone)]
pub struct Settlement {
    /// Every block and every thing that holds for the side, in the order of the catalogue.
    pub items: Vec<Item>,
    /// How each block is cut, by its id, in the order of the catalogue.
    pub cuttings: Vec<(String, Cutting)>,
    /// The agreed cutting as one sheet of the side. Read it with [`halves::catalogue`]: it may give out halves of a block.
    pub side: Sheet,
    /// The agreed cutting as each quarter's own sheet.
    pub sheets: Two<Sheet>,
    /// Who gets which part outside the hanging weight.
    pub parts: Vec<PartDeal>,
}

impl Settlement {
    /// What the farm has still to decide.
    pub fn open(&self) -> impl Iterator<Item = &Item> {
        self.items.iter().filter(|i| i.is_open())
    }
    /// Where both have said something and it differs.
    pub fn differing(&self) -> impl Iterator<Item = &Item> {
        self.items.iter().filter(|i| i.differs())
    }
}
