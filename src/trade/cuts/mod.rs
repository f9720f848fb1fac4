//! Cuts: what may be done with each part of a side, what a customer has asked for, and what will come home.
//!
//! Anatomy by structure: a side is a list of blocks; a block takes one choice, or its pieces are given out among choices, so
//! that no muscle is used twice. The figures stand in TOML files beside this one, each with its source and mark. They are for
//! planning; nothing is billed by them.

pub mod catalogue;
pub mod check;
pub mod common;
pub mod figure;
pub mod gets;
pub mod ground;
pub mod guide;
pub mod keeps;
pub mod mass;
pub mod offer;
pub mod pieces;
pub mod plan;
pub mod quarter;
pub mod questions;
pub mod rules;
pub mod said;
pub mod settings;
pub mod sheet;
pub mod take_home;
pub mod wishes;

use crate::trade::share::Species;
use catalogue::Catalogue;
use common::Common;
use std::fmt;
use std::sync::OnceLock;

const BEEF: &str = concat!(include_str!("data/beef.toml"), include_str!("data/guide/beef.toml"));
const HOG: &str = concat!(include_str!("data/hog.toml"), include_str!("data/guide/hog.toml"));
const LAMB: &str = concat!(include_str!("data/lamb.toml"), include_str!("data/guide/lamb.toml"));
const GOAT: &str = concat!(include_str!("data/goat.toml"), include_str!("data/guide/goat.toml"));
const COMMON: &str = include_str!("data/common.toml");

/// Why a catalogue cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadCatalogue(String);

impl fmt::Display for BadCatalogue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The cut catalogue cannot be used: {}", self.0)
    }
}
impl std::error::Error for BadCatalogue {}

/// What all species share.
///
/// # Errors
/// [`BadCatalogue`] when the file is faulty; `build.rs` and the tests keep such a file from being built in.
pub fn common() -> Result<&'static Common, &'static BadCatalogue> {
    static READ: OnceLock<Result<Common, BadCatalogue>> = OnceLock::new();
    READ.get_or_init(|| toml::from_str(COMMON).map_err(|e| BadCatalogue(e.to_string()))).as_ref()
}

/// The catalogue of a species, read once.
///
/// # Errors
/// [`BadCatalogue`] as for [`common()`].
pub fn catalogue(species: Species) -> Result<&'static Catalogue, &'static BadCatalogue> {
    static READ: [OnceLock<Result<Catalogue, BadCatalogue>>; 4] = [const { OnceLock::new() }; 4];
    let [beef, hog, lamb, goat] = &READ;
    let common = common()?;
    let (once, text) = match species {
        Species::Beef => (beef, BEEF),
        Species::Hog => (hog, HOG),
        Species::Lamb => (lamb, LAMB),
        Species::Goat => (goat, GOAT),
    };
    once.get_or_init(|| read(text, common)).as_ref()
}

/// Reads and checks one catalogue.
fn read(text: &str, common: &Common) -> Result<Catalogue, BadCatalogue> {
    let catalogue: Catalogue = toml::from_str(text).map_err(|e| BadCatalogue(e.to_string()))?;
    match check::faults(&catalogue, common) {
        faults if faults.is_empty() => Ok(catalogue),
        faults => Err(BadCatalogue(faults.join("; "))),
    }
}
