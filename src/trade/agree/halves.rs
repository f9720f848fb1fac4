//! Which blocks of a side two quarters can have cut in two ways: by ribs, in two halves, or by weight.
//!
//! The catalogue counts ribs; every other block is read here as two halves, so that a side whose halves are cut in two ways can be
//! written and reckoned as one sheet. Halves are reckoned as equal: a brisket’s flat is somewhat heavier than its point, and
//! ground meat evens that out.

use crate::trade::cuts::catalogue::{Block, Catalogue, Count, Mark, Pieces};
use crate::trade::cuts::common::Common;
use crate::trade::cuts::sheet::{Refused, Slice};
use crate::trade::cuts::{BadCatalogue, catalogue as plain, common as shared_by_all};
use crate::trade::share::Species;
use std::sync::OnceLock;

/// Blocks that are cut in two across and then in two ways. Common practice in custom cutting, no source for the list as a whole;
/// a quarter of a hog as a split side halves its ham, belly and butt.
const IN_TWO: &[(Species, &str)] = &[
    (Species::Beef, "chuck_blade"),
    (Species::Beef, "chuck_arm"),
    (Species::Beef, "eye_round"),
    (Species::Beef, "tip"),
    (Species::Beef, "brisket"),
    (Species::Hog, "ham_body"),
    (Species::Hog, "belly"),
    (Species::Hog, "spareribs"),
    (Species::Hog, "butt"),
    (Species::Hog, "picnic_body"),
];

/// The catalogue of a species in which blocks without pieces count two halves. Lamb and goat are not cut for quarters.
///
/// # Errors
/// [`Refused::Unknown`] when the catalogue cannot be used.
pub fn catalogue(species: Species) -> Result<&'static Catalogue, Refused> {
    static READ: [OnceLock<Result<Catalogue, BadCatalogue>>; 4] = [const { OnceLock::new() }; 4];
    let [beef, hog, lamb, goat] = &READ;
    let once = match species {
        Species::Beef => beef,
        Species::Hog => hog,
        Species::Lamb => lamb,
        Species::Goat => goat,
    };
    once.get_or_init(|| plain(species).cloned().map(in_two).map_err(Clone::clone)).as_ref().map_err(faulty)
}

/// What all species share.
///
/// # Errors
/// As [`catalogue`].
pub fn common() -> Result<&'static Common, Refused> {
    shared_by_all().map_err(faulty)
}

fn faulty(e: &BadCatalogue) -> Refused {
    Refused::unknown("", e.to_string())
}

fn in_two(mut all: Catalogue) -> Catalogue {
    for block in all.blocks.iter_mut().filter(|b| b.pieces.is_none()) {
        let (mark, source) = (Mark::Fitted, vec!["F".to_string()]);
        block.pieces = Some(Pieces { number: 2, name: "half".into(), shortest_roast: 1, mark, source });
    }
    all
}

/// Whether the quarters can each have their own wish on their own part of a block.
pub fn is_divisible(catalogue: &Catalogue, block: &Block, wishes: [&[Slice]; 2]) -> bool {
    let chosen = || wishes.into_iter().flatten().map(|s| block.choice(&s.choice));
    let free = chosen().all(|choice| {
        choice.is_some_and(|c| {
            c.together.is_none() && c.with_part.is_none() && c.whole_animal.is_empty() && !c.all_pieces
        })
    });
    let by_weight = || {
        chosen().flatten().flat_map(|c| c.cut.keys()).all(|id| {
            catalogue.cuts.get(id).is_some_and(|cut| matches!(cut.count, Count::Weight { .. }) && cut.joins.is_none())
        })
    };
    let is_counted = block.count() > 2;
    let in_two = IN_TWO.iter().any(|(species, id)| *species == catalogue.species && *id == block.id);
    free && (is_counted || in_two || by_weight())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_block_of_the_list_is_in_its_catalogue_and_has_no_pieces() {
        for (species, id) in IN_TWO {
            let block = plain(*species).unwrap().block(id).unwrap_or_else(|| panic!("{id}"));
            assert!(block.pieces.is_none(), "{id}");
            assert_eq!(catalogue(*species).unwrap().block(id).unwrap().count(), 2);
        }
    }

    #[test]
    fn ribs_halves_and_weights_are_divided_and_single_muscles_are_not() {
        let beef = catalogue(Species::Beef).unwrap();
        let of = |block: &str, one: &str, other: &str| {
            let block = beef.block(block).unwrap();
            let slice = |id: &str| vec![Slice { choice: id.into(), pieces: block.count() }];
            is_divisible(beef, block, [&slice(one), &slice(other)])
        };
        assert!(of("rib", "rib_steak_bone_in", "rib_roast_boneless"));
        assert!(of("brisket", "corned", "whole"));
        assert!(of("neck", "stew", "grind"), "by weight");
        assert!(!of("short_loin", "tbone", "strip_boneless_tenderloin"));
        assert!(!of("flank", "steak", "grind"), "there is one flank steak");
        assert!(!of("eye_round", "full_cut_steak", "roast"), "full-cut steaks take the whole round");
    }
}
