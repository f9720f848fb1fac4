//! What all species share: parameters, sausage, storage, freezer space, ranges, rules, sources.

use super::catalogue::Mark;
use super::figure::Figure;
use crate::trade::share::Species;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How much meat a cubic foot of freezer holds, lb.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Freezer {
    /// With odd shapes.
    pub lb_per_cubic_foot_low: Figure,
    /// Closely stacked.
    pub lb_per_cubic_foot_high: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// What the saw takes with each cut, in inches.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SawKerf {
    /// Inches.
    pub inches: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// How wide the ranges of a forecast are and what they rest on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Either way of a cut's weight, in per cent of it.
    pub cut_percent: Figure,
    /// Either way of ground meat, in per cent of it.
    pub ground_percent: Figure,
    /// Either way of all that is packaged, in points of hanging weight.
    pub packaged_points: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
    /// What they rest on, in words for the customer.
    pub why: String,
}

/// From and to how many months, for best quality at 0 F.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Months {
    /// From.
    pub low: u32,
    /// To.
    pub high: u32,
}

/// How long a kind of meat keeps its quality in a freezer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Storage {
    /// The kind.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// Months at 0 F.
    pub months: Months,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// Something with a name: a seasoning or a form of sausage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Named {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// How much a cure leaves of the fresh piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cure {
    /// Its id, a word of the parameter `ham_cure`.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// Per cent of the fresh piece.
    pub percent: Figure,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// The limits of a parameter that is a number.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// The smallest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<Figure>,
    /// The largest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Figure>,
    /// The step from the smallest on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Figure>,
    /// The only figures, if they are few.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub allow: Vec<Figure>,
    /// Above this it is taken with a caution.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution_above: Option<Figure>,
}

/// A parameter of the sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameter {
    /// Its id.
    pub id: String,
    /// What a person reads.
    pub name: String,
    /// `in`, `lb`, `%`, `pieces`, `days`, or `word`.
    pub unit: String,
    /// The species it is for.
    pub species: Vec<Species>,
    /// Its limits when it is a number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<Limits>,
    /// Its words when it is one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// What holds when it is left out; nothing if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub default: Option<String>,
    /// The rule broken by a value outside its limits; none if that is merely not offered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// What a rule says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// In one sentence.
    pub says: String,
    /// What it does: refuses, cautions, built in, holds.
    pub acts: String,
    /// How it is known.
    pub mark: Mark,
    /// Keys of the sources.
    pub source: Vec<String>,
}

/// Everything that all species share.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Common {
    /// Freezer space.
    pub freezer: Freezer,
    /// What the saw takes.
    pub saw_kerf_in: SawKerf,
    /// Ranges of a forecast.
    pub range: Range,
    /// How long meat keeps.
    pub storage: Vec<Storage>,
    /// Seasonings of sausage.
    #[serde(rename(deserialize = "seasoning", serialize = "seasonings"))]
    pub seasonings: Vec<Named>,
    /// Forms of sausage.
    #[serde(rename(deserialize = "form", serialize = "forms"))]
    pub forms: Vec<Named>,
    /// Cures of ham.
    #[serde(rename(deserialize = "cure", serialize = "cures"))]
    pub cures: Vec<Cure>,
    /// Parameters of a sheet.
    #[serde(rename(deserialize = "parameter", serialize = "parameters"))]
    pub parameters: Vec<Parameter>,
    /// Rules by number.
    pub rules: BTreeMap<String, Rule>,
    /// Sources by key.
    pub sources: BTreeMap<String, String>,
}

impl Common {
    /// The parameters of a species.
    pub fn parameters(&self, species: Species) -> impl Iterator<Item = &Parameter> {
        self.parameters.iter().filter(move |p| p.species.contains(&species))
    }
    /// A parameter of a species by its id.
    pub fn parameter(&self, species: Species, id: &str) -> Option<&Parameter> {
        self.parameters(species).find(|p| p.id == id)
    }
    /// How long a kind of meat keeps.
    pub fn storage(&self, kind: &str) -> Option<&Storage> {
        self.storage.iter().find(|s| s.id == kind)
    }
    /// What a key of a source stands for.
    pub fn source(&self, key: &str) -> Option<&str> {
        self.sources.get(key).map(String::as_str)
    }
}
