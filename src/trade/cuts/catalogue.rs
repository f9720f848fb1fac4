//! The catalogue of one species as it stands in its TOML file: blocks, choices, cuts, parts, profiles.

use super::figure::Figure;
use super::guide::Guide;
use crate::trade::share::Species;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mark {
    /// Read in the source named.
    Read,
    /// Reckoned from figures that were read.
    Derived,
    /// Chosen so that whole sheets agree with the published tables.
    Fitted,
    /// From memory, not verified.
    Remembered,
}

/// Cooler shrink in per cent of the hanging weight.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shrink {
    /// What is expected.
    pub expected: Figure,
    /// The least that sources give.
    pub low: Figure,
    /// The most that sources give.
    pub high: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// The natural lean of mixed trim, in per cent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrimLean {
    /// Per cent lean.
    pub percent: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// Between what weights, in lb, a side of the species usually hangs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plausible {
    /// The lightest, lb.
    pub low: Figure,
    /// The heaviest, lb.
    pub high: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// After how many days of ageing a caution is due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LongAgeing {
    /// The last day without a caution.
    pub days: Figure,
    /// The sentence for the customer.
    pub why: String,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// The pieces a block can be given out by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pieces {
    /// How many there are on a side.
    pub number: u32,
    /// What one is called.
    pub name: String,
    /// The fewest that make a roast.
    pub shortest_roast: u32,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// Where the yields of a block's choices come from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Yields {
    /// How they are known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// What may be done with a block. Figures are per cent of the block and add up to 100.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// Cuts and how much of each.
    pub cut: BTreeMap<String, Figure>,
    /// Lean and fat trim for ground meat, stew or sausage.
    pub grind: Figure,
    /// How much of `grind` is pure fat added to it.
    #[serde(default)]
    pub grind_fat: Figure,
    /// Bone that is left out.
    pub bone: Figure,
    /// Fat (on hogs with the skin) that is left out.
    pub fat: Figure,
    /// Lost in curing, smoking or rendering.
    #[serde(default)]
    pub loss: Figure,
    /// Holds backbone, which is taken out from 30 months on.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub backbone: bool,
    /// Needs a hog that was scalded.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub skin_on: bool,
    /// Is cured.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub cured: bool,
    /// Is sliced thin, so that bacon slices are asked for.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sliced_thin: bool,
    /// Is a roast, so that it needs the shortest run of pieces.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub roast: bool,
    /// Takes all pieces of a block that has pieces.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub all_pieces: bool,
    /// The rules broken when the share is not a whole animal; empty if it may be less.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub whole_animal: Vec<String>,
    /// The rule by which every block that offers this must take it together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub together: Option<String>,
    /// The part this choice goes with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with_part: Option<String>,
    /// A rule of its own, besides those of the block, when it is asked beside another choice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
}

/// A part of one side that takes one choice, or is given out by its pieces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// The primal it belongs to.
    pub primal: String,
    /// Per cent of the chilled side.
    pub share: Figure,
    /// The parameter that says how its cured choices are cured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cure_parameter: Option<String>,
    /// The pieces it can be given out by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pieces: Option<Pieces>,
    /// The rules broken when more is asked of it than one choice.
    pub rules: Vec<String>,
    /// The sentence that names the shared muscle and the way out.
    pub shared: String,
    /// How the share is known.
    pub mark: Mark,
    /// Keys of the share's sources.
    pub source: Vec<String>,
    /// Where the yields come from.
    pub yields: Yields,
    /// What may be done with it.
    #[serde(rename(deserialize = "choice", serialize = "choices"))]
    pub choices: Vec<Choice>,
}

impl Block {
    /// A choice by its id.
    pub fn choice(&self, id: &str) -> Option<&Choice> {
        self.choices.iter().find(|c| c.id == id)
    }
    /// How many pieces it counts; 1 when it has none.
    pub fn count(&self) -> u32 {
        self.pieces.as_ref().map_or(1, |p| p.number.max(1))
    }
}

/// How the pieces of a cut are counted; per side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case", deny_unknown_fields)]
pub enum Count {
    /// Slices from a length.
    Slice {
        /// Inches of the whole block.
        length: Figure,
        /// The parameter that says how thick.
        thickness: String,
        /// The parameter that says how many in a pack.
        pack: String,
    },
    /// Slices across both unsplit sides.
    DoubleSlice {
        /// Inches of the whole block.
        length: Figure,
        /// The parameter that says how thick.
        thickness: String,
        /// The parameter that says how many in a pack.
        pack: String,
    },
    /// A fixed number.
    Piece {
        /// How many.
        number: u32,
        /// The parameter that says how many in a pack; one if there is none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pack: Option<String>,
    },
    /// One to an animal.
    HalfPiece,
    /// One for each piece of the block, such as each rib.
    Bone,
    /// Roasts of the weight asked for.
    Roast,
    /// Not counted, packed by weight.
    Weight {
        /// The parameter that says how many pounds in a pack.
        pack: String,
    },
    /// Part of another cut's piece.
    Joined,
}

/// What a cut is called, how it keeps and how it is counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// What a person reads.
    pub name: String,
    /// The kind of meat for storage.
    pub keeps: String,
    /// How pieces and packs are counted.
    pub count: Count,
    /// The cut it is one piece with when that is there too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joins: Option<String>,
    /// How the count is known.
    #[serde(default = "remembered")]
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

const fn remembered() -> Mark {
    Mark::Remembered
}

/// Something outside the hanging weight.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// How many an animal has.
    pub per_animal: u32,
    /// Its weight in per cent of the hanging weight.
    pub percent: Figure,
    /// How it can be divided: `slice`, `halve`, `section`, `count` or `none`.
    pub split: String,
    /// There only where the head is kept.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub needs_head: bool,
    /// How the weight is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// A complete set of choices with a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// Keys of the sources.
    pub source: Vec<String>,
    /// The choice of every block.
    pub blocks: BTreeMap<String, String>,
}

/// Everything about one species.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalogue {
    /// The species.
    pub species: Species,
    /// Cooler shrink.
    pub shrink: Shrink,
    /// The natural lean of its trim.
    pub trim_lean: TrimLean,
    /// How much a side usually weighs.
    pub plausible_side_lb: Plausible,
    /// When ageing is long.
    pub long_ageing: LongAgeing,
    /// The blocks of a side, adding up to 100 per cent.
    #[serde(rename(deserialize = "block", serialize = "blocks"))]
    pub blocks: Vec<Block>,
    /// What lies outside the hanging weight.
    #[serde(rename(deserialize = "part", serialize = "parts"))]
    pub parts: Vec<Part>,
    /// Ready-made sheets; `standard` is always there.
    #[serde(rename(deserialize = "profile", serialize = "profiles"))]
    pub profiles: Vec<Profile>,
    /// Cuts by id.
    pub cuts: BTreeMap<String, Cut>,
    /// What helps a customer choose, by the block's id.
    pub guide: BTreeMap<String, Guide>,
}

impl Catalogue {
    /// A block by its id.
    pub fn block(&self, id: &str) -> Option<&Block> {
        self.blocks.iter().find(|b| b.id == id)
    }
    /// A part by its id.
    pub fn part(&self, id: &str) -> Option<&Part> {
        self.parts.iter().find(|p| p.id == id)
    }
    /// A profile by its id.
    pub fn profile(&self, id: &str) -> Option<&Profile> {
        self.profiles.iter().find(|p| p.id == id)
    }
    /// The standard choice of a block; from 30 months on the one without backbone.
    pub fn standard<'a>(&'a self, block: &'a Block, from_30_months: bool) -> Option<&'a Choice> {
        let old = self.profile("standard_30_months").filter(|_| from_30_months);
        let profile = old.or_else(|| self.profile("standard"))?;
        block.choice(profile.blocks.get(&block.id)?)
    }
    /// The least common multiple of all counts of pieces; shares of a block are reckoned in it.
    pub fn pieces_together(&self) -> i64 {
        self.blocks.iter().map(|b| i64::from(b.count())).fold(1, |all, n| all / greatest_common_divisor(all, n) * n)
    }
}

fn greatest_common_divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a.max(1) } else { greatest_common_divisor(b, a % b) }
}
