//! Fore and hind quarters of beef: their own blocks, brought to 100 per cent of the quarter's own weight.
//!
//! By the names of their cuts the blocks of a side divide 53 to 47 between ribs 12 and 13; the published weights of the quarters
//! are about 55 to 45 (S5). So the blocks of a quarter are not taken by their per cent of the side, but by their part of the
//! quarter, and the forecast says so. What lies outside the hanging weight is a fourth of the animal's, as for every quarter.

use super::catalogue::{Block, Catalogue, Count};
use super::figure::Figure;
use super::sheet::{Hanging, Note, Refused, Sheet};
use super::{BadCatalogue, catalogue};
use crate::trade::carcass::FORE_PERCENT;
use crate::trade::share::{Part, Size, Species};
use crate::trade::split::by_largest_remainder;
use std::sync::OnceLock;

/// Primals of beef that lie before the cut between ribs 12 and 13.
const FORE: [&str; 5] = ["chuck", "rib", "brisket", "plate", "shank"];

/// Which quarter a block of a side of beef lies in.
pub fn quarter_of(block: &Block) -> Part {
    if FORE.contains(&block.primal.as_str()) { Part::Fore } else { Part::Hind }
}

/// The catalogue of one quarter of a side of beef; for a split side the whole one.
///
/// # Errors
/// [`BadCatalogue`] as for [`catalogue()`].
pub fn quarter(part: Part) -> Result<&'static Catalogue, &'static BadCatalogue> {
    static READ: [OnceLock<Catalogue>; 2] = [const { OnceLock::new() }; 2];
    let side = catalogue(Species::Beef)?;
    let [fore, hind] = &READ;
    Ok(match part {
        Part::Split => side,
        Part::Fore => fore.get_or_init(|| cut_down(side, part, FORE_PERCENT)),
        Part::Hind => hind.get_or_init(|| cut_down(side, part, 100 - FORE_PERCENT)),
    })
}

/// The catalogue a share is read by: that of its species, or of its own quarter of beef.
///
/// # Errors
/// [`BadCatalogue`] as for [`catalogue()`].
pub fn of_share(species: Species, size: Size, part: Part) -> Result<&'static Catalogue, &'static BadCatalogue> {
    if is_own(species, size, part) { quarter(part) } else { catalogue(species) }
}

/// Whether a share is a forequarter or a hindquarter of beef.
pub fn is_own(species: Species, size: Size, part: Part) -> bool {
    species == Species::Beef && size == Size::Quarter && part != Part::Split
}

fn cut_down(side: &Catalogue, part: Part, percent: i64) -> Catalogue {
    let mut own = side.clone();
    own.blocks.retain(|block| quarter_of(block) == part);
    let whole = Figure::whole(100);
    let shares: Vec<i64> = own.blocks.iter().map(|b| b.share.hundredths()).collect();
    let dealt = by_largest_remainder(whole.hundredths(), &shares).unwrap_or_default();
    for (block, share) in own.blocks.iter_mut().zip(dealt) {
        block.share = Figure::from_hundredths(share);
    }
    let names: Vec<String> = own.blocks.iter().map(|b| b.id.clone()).collect();
    own.guide.retain(|block, _| names.contains(block));
    for profile in &mut own.profiles {
        profile.blocks.retain(|block, _| names.contains(block));
    }
    own.cuts.retain(|cut, _| own.blocks.iter().any(|b| b.choices.iter().any(|c| c.cut.contains_key(cut))));
    // A fourth of the animal's, reckoned from this quarter's weight: half of the side's, over the quarter's part of the side.
    let fourth = |figure: Figure| Figure::from_hundredths((figure.hundredths() * 50 + percent / 2) / percent);
    for one in &mut own.parts {
        one.percent = fourth(one.percent);
    }
    let of_side = |figure: Figure| Figure::from_hundredths(figure.hundredths() * percent / 100);
    own.plausible_side_lb.low = of_side(own.plausible_side_lb.low);
    own.plausible_side_lb.high = of_side(own.plausible_side_lb.high);
    own
}

/// V19: cuts of the other quarter, each named.
///
/// # Errors
/// [`Refused::Broken`] with every block of the sheet that lies in the other quarter.
pub fn only_its_own(hanging: &Hanging, sheet: &Sheet) -> Result<(), Refused> {
    if !hanging.is_own_quarter() {
        return Ok(());
    }
    let side = catalogue(Species::Beef).map_err(|e| Refused::unknown("", e.to_string()))?;
    let other = |under: &str, id: &String| {
        let block = side.block(id).filter(|block| quarter_of(block) != hanging.part)?;
        let why = format!(
            "The {} lies in the {}, and this share is a {}. Leave it out",
            block.name,
            quarter_of(block).label(),
            hanging.part.label()
        );
        Some(Note::new("V19", format!("sheet.{under}.{id}"), why))
    };
    let mut broken: Vec<Note> = sheet.blocks.keys().filter_map(|id| other("blocks", id)).collect();
    broken.extend(sheet.partitions.keys().filter_map(|id| other("partitions", id)));
    if broken.is_empty() { Ok(()) } else { Err(Refused::Broken(broken)) }
}

/// What a forecast of a forequarter or hindquarter rests on, as a caution; nothing for other shares.
pub fn caution(hanging: &Hanging) -> Option<Note> {
    let why = format!(
        "The cuts of a {} are reckoned from its own weight. By their names the cuts of a side divide 53 to 47, while a \
         forequarter is about 55 and a hindquarter about 45 per cent of it (Purdue Extension), so single cuts may be a few per \
         cent lighter or heavier",
        hanging.part.label()
    );
    hanging.is_own_quarter().then(|| Note::new("V19", "share", why))
}

/// What of a sheet there is in a share: blocks of the other quarter are left out, and so is what is asked of them alone. A sheet
/// of last time may have been for half a beef.
pub fn fitting(hanging: &Hanging, sheet: &Sheet) -> Sheet {
    let mut own = sheet.clone();
    let Ok(catalogue) = hanging.catalogue() else { return own };
    own.blocks.retain(|id, _| catalogue.block(id).is_some());
    own.partitions.retain(|id, _| catalogue.block(id).is_some());
    own.parameters.retain(|id, _| has_use(catalogue, id));
    own
}

/// Whether a parameter can say anything about a catalogue: not about chuck roasts where there is no chuck, nor about how thick
/// cubed steak is where nothing is cubed. What no block of the whole side reads holds for every sheet.
pub fn has_use(own: &Catalogue, parameter: &str) -> bool {
    let Ok(whole) = catalogue(own.species) else { return true };
    let reads = |all: &Catalogue| all.blocks.iter().any(|b| reads(all, b, parameter));
    reads(own) || !reads(whole)
}

/// Whether a parameter says how the choices of a block are cut or packed.
pub fn reads(catalogue: &Catalogue, block: &Block, id: &str) -> bool {
    if id == "chuck_roasts" {
        return block.primal == "chuck";
    }
    let of_cut = |cut: &str| match id {
        "cubed_in" => cut == "cubed_steak",
        "cubes_in" => cut.starts_with("cubes_"),
        _ => catalogue.cuts.get(cut).is_some_and(|c| match &c.count {
            Count::Slice { thickness, pack, .. } | Count::DoubleSlice { thickness, pack, .. } => {
                id == thickness || id == pack
            }
            Count::Piece { pack: Some(pack), .. } | Count::Weight { pack } => id == pack,
            Count::Roast => id == "roast_lb",
            Count::Piece { pack: None, .. } | Count::HalfPiece | Count::Bone | Count::Joined => false,
        }),
    };
    let choices = &block.choices;
    choices.iter().flat_map(|c| c.cut.keys()).any(|cut| of_cut(cut))
        || (id == "bacon_in" && choices.iter().any(|c| c.sliced_thin))
        || (block.cure_parameter.as_deref() == Some(id) && choices.iter().any(|c| c.cured))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::catalogue::Choice;
    use crate::trade::cuts::check::faults;
    use crate::trade::cuts::common;
    use crate::trade::cuts::take_home::{TakeHome, take_home};
    use crate::trade::weight::{Unit, Weight};
    use proptest::prelude::*;

    fn hanging(part: Part, hundredths: i64) -> Hanging {
        Hanging {
            species: Species::Beef,
            unit: Unit::Lb,
            weight: Weight::from_hundredths(hundredths),
            size: Size::Quarter,
            part,
            age_months: Some(20),
            head_on: false,
            skin_on: false,
        }
    }

    fn half(hundredths: i64) -> Hanging {
        Hanging { size: Size::Half, ..hanging(Part::Split, hundredths) }
    }

    #[test]
    fn the_blocks_of_each_quarter_add_up_to_all_of_it() {
        let side = catalogue(Species::Beef).unwrap();
        let by_name: i64 =
            side.blocks.iter().filter(|b| quarter_of(b) == Part::Fore).map(|b| b.share.hundredths()).sum();
        assert_eq!(by_name, 5_300, "53 to 47 by name");
        let mut seen = 0;
        for part in [Part::Fore, Part::Hind] {
            let own = quarter(part).unwrap();
            assert_eq!(faults(own, common().unwrap()), Vec::<String>::new(), "{part}");
            seen += own.blocks.len();
        }
        assert_eq!(seen, side.blocks.len(), "each block lies in one of them");
        assert_eq!(quarter(Part::Split).unwrap(), side);
    }

    #[test]
    fn a_cut_of_the_other_quarter_is_refused_and_named() {
        let sheet = Sheet { blocks: [("short_loin".to_string(), "tbone".to_string())].into(), ..Sheet::default() };
        let Err(Refused::Broken(notes)) = take_home(&hanging(Part::Fore, 18_000), &sheet) else { panic!() };
        assert_eq!((notes[0].rule.as_str(), notes[0].at.as_str()), ("V19", "sheet.blocks.short_loin"));
        assert!(notes[0].why.contains("short loin lies in the hindquarter"), "{}", notes[0].why);
        assert!(take_home(&hanging(Part::Hind, 18_000), &sheet).is_ok());
        let hog = Hanging { species: Species::Hog, ..hanging(Part::Fore, 5_000) };
        let Err(Refused::Broken(notes)) = take_home(&hog, &Sheet::default()) else { panic!() };
        assert!(notes.iter().any(|n| n.why.starts_with("Only beef is sold as a forequarter")), "{notes:?}");
        let half = Hanging { size: Size::Half, ..hanging(Part::Hind, 18_000) };
        assert!(matches!(take_home(&half, &Sheet::default()), Err(Refused::Broken(_))), "a half is neither");
    }

    #[test]
    fn the_thirty_months_hold_for_a_quarter() {
        let old = Hanging { age_months: Some(31), ..hanging(Part::Hind, 18_000) };
        let tbones = Sheet { blocks: [("short_loin".to_string(), "tbone".to_string())].into(), ..Sheet::default() };
        let Err(Refused::Broken(notes)) = take_home(&old, &tbones) else { panic!() };
        assert!(notes.iter().any(|n| n.rule == "B12"), "{notes:?}");
        let home = take_home(&old, &Sheet::default()).unwrap();
        let of_loin: Vec<&str> = home.lines.iter().filter(|l| l.block == "short_loin").map(|l| l.cut).collect();
        assert!(of_loin.contains(&"tenderloin") && !of_loin.contains(&"tbone_porterhouse"), "boneless: {of_loin:?}");
    }

    #[test]
    fn a_sheet_of_a_half_keeps_what_a_quarter_has() {
        let blocks = [("short_loin", "tbone"), ("rib", "rib_steak_bone_in"), ("chuck_blade", "grind")];
        let sheet = Sheet {
            blocks: blocks.map(|(b, c)| (b.to_string(), c.to_string())).into(),
            parameters: [("chuck_roasts", "3"), ("steak_in", "1.25"), ("ground_pkg_lb", "2")]
                .map(|(p, v)| (p.to_string(), v.to_string()))
                .into(),
            ..Sheet::default()
        };
        let keys = |part| -> (Vec<String>, Vec<String>) {
            let own = fitting(&hanging(part, 18_000), &sheet);
            (own.blocks.into_keys().collect(), own.parameters.into_keys().collect())
        };
        let text = |all: &[&str]| all.iter().map(ToString::to_string).collect::<Vec<_>>();
        assert_eq!(keys(Part::Hind), (text(&["short_loin"]), text(&["ground_pkg_lb", "steak_in"])));
        assert_eq!(
            keys(Part::Fore),
            (text(&["chuck_blade", "rib"]), text(&["chuck_roasts", "ground_pkg_lb", "steak_in"]))
        );
        assert_eq!(fitting(&half(36_000), &sheet), sheet);
    }

    #[test]
    fn a_hindquarter_has_all_t_bones_of_its_side_and_a_fourth_of_the_organs() {
        let parts = Sheet { parts: vec!["liver".into()], ..Sheet::default() };
        let home = take_home(&hanging(Part::Hind, 16_200), &parts).unwrap();
        let tbones = home.lines.iter().find(|l| l.block == "short_loin").unwrap();
        // 15 in of short loin at 1 in and the saw: 14 (cuts.md 7.7), as on the half it comes from.
        assert_eq!(tbones.pieces.unwrap().decimal().to_string(), "14");
        assert!(home.cautions.iter().any(|n| n.why.contains("53 to 47")), "{:?}", home.cautions);
        // The split quarter of a side of 360 lb has the same liver as the hindquarter of 162 lb, which is 45 per cent of it.
        let split = take_home(&hanging(Part::Split, 18_000), &parts).unwrap();
        let liver = |home: &TakeHome<'_>| home.parts[0].1.hundredths();
        assert!((liver(&home) - liver(&split)).abs() <= 10, "{} and {}", liver(&home), liver(&split));
    }

    /// Choices for every block of a side, any of those a quarter can have.
    fn choices() -> impl Strategy<Value = Sheet> {
        let blocks = &catalogue(Species::Beef).unwrap().blocks;
        let alone = |c: &&Choice| c.together.is_none() && c.whole_animal.is_empty() && c.with_part.is_none();
        let one = |b: &'static Block| {
            let ids: Vec<String> = b.choices.iter().filter(alone).map(|c| c.id.clone()).collect();
            (0..ids.len()).prop_map(move |n| (b.id.clone(), ids[n].clone()))
        };
        let all: Vec<_> = blocks.iter().map(one).collect();
        all.prop_map(|blocks| Sheet { blocks: blocks.into_iter().collect(), ..Sheet::default() })
    }

    /// Everything a forecast accounts for, in hundredths.
    fn all_of(home: &TakeHome<'_>) -> i64 {
        [home.packaged.expected, home.bone, home.fat, home.loss, home.shrink].iter().map(|w| w.hundredths()).sum()
    }

    proptest! {
        /// Nothing is made and nothing lost, by any choices; and hung as their cuts divide by name, 53 to 47, the two quarters give
        /// cut by cut what the half gives.
        #[test]
        fn two_quarters_are_the_half_on_the_same_choices(side in 20_000_i64..50_000, sheet in choices()) {
            let whole = take_home(&half(side), &sheet);
            for (by_name, fore) in [(false, side * FORE_PERCENT / 100), (true, side * 53 / 100)] {
                let mut pair = Vec::new();
                for (part, weight) in [(Part::Fore, fore), (Part::Hind, side - fore)] {
                    let hanging = hanging(part, weight);
                    let own = fitting(&hanging, &sheet);
                    if let Ok(home) = take_home(&hanging, &own) {
                        prop_assert_eq!(all_of(&home), weight);
                        pair.push(home);
                    }
                }
                let Ok(whole) = &whole else { continue };
                prop_assert_eq!(pair.len(), 2, "what a half may have, its quarters may");
                prop_assert_eq!(pair.iter().map(all_of).sum::<i64>(), all_of(whole));
                let lines: Vec<_> = pair.iter().flat_map(|home| &home.lines).collect();
                prop_assert_eq!(lines.len(), whole.lines.len());
                for line in &whole.lines {
                    let same = lines.iter().find(|l| (l.cut, l.block) == (line.cut, line.block)).unwrap();
                    let off = (same.weight.expected.hundredths() - line.weight.expected.hundredths()).abs();
                    // Hundredths are dealt out in each quarter, so a cut may differ by a few of them.
                    let may = if by_name { 4 } else { line.weight.expected.hundredths() * 6 / 100 + 4 };
                    prop_assert!(off <= may, "{}: {:?} and {:?}", line.cut, same.weight, line.weight);
                    if by_name {
                        // Roasts are counted by their weight: a hundredth may be the one that makes another of them.
                        let most = if off == 0 { 0 } else { 1 };
                        let count = |l: &super::super::take_home::Line<'_>| l.pieces.map_or(rust_decimal::Decimal::ZERO, |p| p.decimal());
                        prop_assert!((count(same) - count(line)).abs() <= rust_decimal::Decimal::from(most), "{}", line.cut);
                    }
                }
            }
        }

        /// By the standard cut both together bring home what the half does, to one per cent.
        #[test]
        fn a_side_hung_55_to_45_brings_home_about_what_the_half_does(side in 20_000_i64..50_000) {
            let fore = side * FORE_PERCENT / 100;
            let whole = take_home(&half(side), &Sheet::default()).unwrap().packaged.expected.hundredths();
            let of = |part, weight| take_home(&hanging(part, weight), &Sheet::default()).unwrap().packaged.expected.hundredths();
            let together = of(Part::Fore, fore) + of(Part::Hind, side - fore);
            prop_assert!((together - whole).abs() * 100 <= whole, "{together} and {whole}");
        }
    }
}
