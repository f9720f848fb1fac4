//! Fore and hind quarters of beef: their own blocks, brought to 100 per cent of the quarter's own weight.
//!
//! By the names of their cuts the blocks of a side divide 53 to 47 between ribs 12 and 13; the published weights of the quarters
//! are about 55 to 45 (S5). So the blocks of a quarter are not taken by their per cent of the side, but by their part of the
//! quarter, and the forecast says so. What lies outside the hanging weight is a fourth of the animal's, as for every quarter.

use super::catalogue::{Block, Catalogue};
use super::figure::Figure;
use super::sheet::{Hanging, Note, Refused, Sheet};
use super::take_home::{self, TakeHome};
use super::{BadCatalogue, catalogue, common};
use crate::trade::share::{Part, Size, Species};
use crate::trade::split::by_largest_remainder;
use std::sync::OnceLock;

/// Per cent of a side that a forequarter weighs (S5); the hindquarter is the rest.
const FORE_PERCENT: i64 = 55;
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

/// What comes home of a fore or hind quarter of beef. `hanging` is the quarter with its own hanging weight; a quarter of a split
/// side is reckoned as ever.
///
/// # Errors
/// As [`super::take_home::take_home`]; V19 for cuts of the other quarter, and for a quarter that is none of beef.
pub fn take_home_quarter(hanging: &Hanging, part: Part, sheet: &Sheet) -> Result<TakeHome<'static>, Refused> {
    let faulty = |e: &BadCatalogue| Refused::unknown("", e.to_string());
    if part == Part::Split {
        return take_home::take_home(hanging, sheet);
    }
    if hanging.species != Species::Beef || hanging.size != Size::Quarter {
        let why = "Only beef is sold as a forequarter or a hindquarter. Choose a half, or a quarter of a split side";
        return Err(Refused::Broken(vec![Note::new("V19", "share", why)]));
    }
    let (own, side) = (quarter(part).map_err(faulty)?, catalogue(Species::Beef).map_err(faulty)?);
    let other = |under: &str, id: &String| {
        let block = side.block(id).filter(|block| quarter_of(block) != part)?;
        let why = format!(
            "The {} lies in the {}, and this share is a {}. Leave it out",
            block.name,
            quarter_of(block).label(),
            part.label()
        );
        Some(Note::new("V19", format!("sheet.{under}.{id}"), why))
    };
    let mut broken: Vec<Note> = sheet.blocks.keys().filter_map(|id| other("blocks", id)).collect();
    broken.extend(sheet.partitions.keys().filter_map(|id| other("partitions", id)));
    if !broken.is_empty() {
        return Err(Refused::Broken(broken));
    }
    // All pieces of the side's blocks lie in the quarter, so they are counted as those of a half.
    let common = common().map_err(faulty)?;
    let mut home = take_home::by(own, common, &Hanging { size: Size::Half, ..*hanging }, sheet)?;
    let why = format!(
        "The cuts of a {} are reckoned from its own weight. By their names the cuts of a side divide 53 to 47, while a \
         forequarter is about 55 and a hindquarter about 45 per cent of it (Purdue Extension), so single cuts may be a few per \
         cent lighter or heavier",
        part.label()
    );
    home.cautions.push(Note::new("V19", "share", why));
    Ok(home)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::check::faults;
    use crate::trade::cuts::common;
    use crate::trade::weight::{Unit, Weight};
    use proptest::prelude::*;

    fn hanging(hundredths: i64) -> Hanging {
        Hanging {
            species: Species::Beef,
            unit: Unit::Lb,
            weight: Weight::from_hundredths(hundredths),
            size: Size::Quarter,
            age_months: Some(20),
            head_on: false,
            skin_on: false,
        }
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
        let Err(Refused::Broken(notes)) = take_home_quarter(&hanging(18_000), Part::Fore, &sheet) else { panic!() };
        assert_eq!((notes[0].rule.as_str(), notes[0].at.as_str()), ("V19", "sheet.blocks.short_loin"));
        assert!(notes[0].why.contains("short loin lies in the hindquarter"), "{}", notes[0].why);
        assert!(take_home_quarter(&hanging(18_000), Part::Hind, &sheet).is_ok());
        let hog = Hanging { species: Species::Hog, ..hanging(5_000) };
        assert!(matches!(take_home_quarter(&hog, Part::Fore, &Sheet::default()), Err(Refused::Broken(_))));
    }

    #[test]
    fn a_hindquarter_has_all_t_bones_of_its_side_and_a_fourth_of_the_organs() {
        let parts = Sheet { parts: vec!["liver".into()], ..Sheet::default() };
        let home = take_home_quarter(&hanging(16_200), Part::Hind, &parts).unwrap();
        let tbones = home.lines.iter().find(|l| l.block == "short_loin").unwrap();
        // 15 in of short loin at 1 in and the saw: 14 (cuts.md 7.7), as on the half it comes from.
        assert_eq!(tbones.pieces.unwrap().decimal().to_string(), "14");
        assert!(home.cautions.iter().any(|n| n.why.contains("53 to 47")), "{:?}", home.cautions);
        // The split quarter of a side of 360 lb has the same liver as the hindquarter of 162 lb, which is 45 per cent of it.
        let split = take_home_quarter(&hanging(18_000), Part::Split, &parts).unwrap();
        let liver = |home: &TakeHome<'_>| home.parts[0].1.hundredths();
        assert!((liver(&home) - liver(&split)).abs() <= 10, "{} and {}", liver(&home), liver(&split));
    }

    proptest! {
        /// Nothing is made and nothing lost, and together the two quarters come to about what the half does.
        #[test]
        fn a_quarter_adds_up_and_two_are_about_the_half(side in 20_000_i64..50_000) {
            let fore = side * FORE_PERCENT / 100;
            let half = Hanging { size: Size::Half, ..hanging(side) };
            let half = take_home::take_home(&half, &Sheet::default()).unwrap();
            let mut together = 0;
            for (part, weight) in [(Part::Fore, fore), (Part::Hind, side - fore)] {
                let home = take_home_quarter(&hanging(weight), part, &Sheet::default()).unwrap();
                let all = [home.packaged.expected, home.bone, home.fat, home.loss, home.shrink];
                prop_assert_eq!(all.iter().map(|w| w.hundredths()).sum::<i64>(), weight);
                together += home.packaged.expected.hundredths();
            }
            let off = (together - half.packaged.expected.hundredths()).abs();
            prop_assert!(off * 100 <= half.packaged.expected.hundredths(), "{together} and {:?}", half.packaged);
        }
    }
}
