//! The rules of a cut sheet that look at more than one block, at the animal, the share or the parts.
//!
//! What a block's structure settles (one choice each, pieces given out) is looked at in [`super::plan`], limits of parameters
//! in [`super::settings`], and what depends on weights in [`super::take_home`]. V9 and V15 belong to a processor: the service
//! puts its notes beside these. One thing may break a particular rule (B, H, L, G) and a general one (V): then both stand in
//! the list with the same sentence, and a form shows it once.

pub mod animal;
pub mod cure;
pub mod late;
pub mod parts;
pub mod share;
pub mod sides;
pub mod together;

use super::catalogue::Catalogue;
use super::plan::Plan;
use super::settings::Settings;
use super::sheet::{Hanging, Note, Sheet};

/// What the rules look at.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// The catalogue of the species.
    pub catalogue: &'a Catalogue,
    /// The share and the animal.
    pub hanging: &'a Hanging,
    /// The sheet.
    pub sheet: &'a Sheet,
    /// What becomes of each block.
    pub plan: &'a Plan<'a>,
    /// The parameters.
    pub settings: &'a Settings<'a>,
}

/// What the rules have found.
#[derive(Debug, Default)]
pub struct Found {
    /// Rules that are broken.
    pub broken: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Note>,
}

impl Found {
    /// The same sentence under several rules.
    pub fn break_all<'a>(&mut self, rules: impl IntoIterator<Item = &'a str>, at: &str, why: &str) {
        self.broken.extend(rules.into_iter().map(|rule| Note::new(rule, at, why)));
    }
    /// A caution.
    pub fn caution(&mut self, rule: &str, at: impl Into<String>, why: impl Into<String>) {
        self.cautions.push(Note::new(rule, at, why));
    }
}

/// Looks at every rule that needs no weights.
pub fn all(look: &Look<'_>) -> Found {
    let mut found = Found::default();
    animal::backbone(look, &mut found);
    animal::skin(look, &mut found);
    animal::weight(look, &mut found);
    animal::ageing(look, &mut found);
    share::quarter(look, &mut found);
    share::whole_animal(look, &mut found);
    together::together(look, &mut found);
    together::tenderloin(look, &mut found);
    cure::bacon(look, &mut found);
    cure::ham(look, &mut found);
    parts::parts(look, &mut found);
    parts::jowl(look, &mut found);
    found
}
