//! What holds for every valid sheet of every species and share: weight is kept, halves make the whole, quarters the half.

use gambrel::trade::cuts::catalogue;
use gambrel::trade::cuts::sheet::{Hanging, Refused, Sausage, Sheet, Slice};
use gambrel::trade::cuts::take_home::{Band, TakeHome, take_home};
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::split::by_largest_remainder;
use gambrel::trade::weight::{Unit, Weight};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn hanging(species: Species, size: Size, unit: Unit, hundredths: i64) -> Hanging {
    Hanging {
        species,
        unit,
        weight: Weight::from_hundredths(hundredths),
        size,
        part: Part::Split,
        age_months: Some(20),
        head_on: species != Species::Beef,
        skin_on: species == Species::Hog,
    }
}

/// A sheet out of dice: one choice for each block, ribs given out, parameters, a sausage of so many per cent of the ground meat.
fn sheet(species: Species, dice: &[u8; 24], whole: bool) -> Sheet {
    let catalogue = catalogue(species).unwrap();
    let mut sheet = Sheet::default();
    for (block, die) in catalogue.blocks.iter().zip(dice) {
        let may: Vec<_> = block
            .choices
            .iter()
            .filter(|c| c.together.is_none() && c.with_part.is_none() && (whole || c.whole_animal.is_empty()))
            .collect();
        let pick = |n: u8| &may[usize::from(n) % may.len()].id;
        match &block.pieces {
            Some(pieces) if die % 3 == 0 => {
                let first = 2 + u32::from(*die) % (pieces.number - 3);
                let slices = [(*die, first), (die / 7, pieces.number - first)];
                let slices = slices.map(|(n, pieces)| Slice { choice: pick(n).clone(), pieces });
                if slices.iter().any(|s| block.choice(&s.choice).unwrap().all_pieces) {
                    continue;
                }
                sheet.partitions.insert(block.id.clone(), slices.to_vec());
            }
            _ if die % 5 == 4 => {}
            _ => drop(sheet.blocks.insert(block.id.clone(), pick(*die).clone())),
        }
    }
    let mut set = |id: &str, words: &[&str], die: u8| {
        if let Some(word) = words.get(usize::from(die)) {
            sheet.parameters.insert(id.to_string(), word.to_string());
        }
    };
    set("ground_pkg_lb", &["1", "1.5", "2", "5"], dice[20] % 6);
    match species {
        Species::Beef => {
            set("ground_lean_pct", &["70", "75", "80", "85", "90", "95"], dice[21] % 8);
            set("steak_in", &["0.5", "0.75", "1.25", "2"], dice[22] % 6);
        }
        Species::Hog => set("pork_chop_in", &["0.5", "1", "1.5"], dice[22] % 5),
        Species::Lamb | Species::Goat => set("lamb_chop_in", &["0.75", "1.5", "2"], dice[22] % 5),
    }
    for part in catalogue.parts.iter().filter(|p| p.id != "head" && dice[23] < 128) {
        sheet.parts.push(part.id.clone());
    }
    sheet
}

fn total(home: &TakeHome<'_>) -> i64 {
    let cuts: i64 = home.lines.iter().map(|l| l.weight.expected.hundredths()).sum();
    let sausage: i64 = home.sausage.iter().map(|s| s.weight.expected.hundredths()).sum();
    let gone = [home.bone, home.fat, home.loss, home.shrink].iter().map(|w| w.hundredths()).sum::<i64>();
    cuts + sausage + home.ground.expected.hundredths() + gone
}

fn in_order(band: Band) -> bool {
    band.low <= band.expected && band.expected <= band.high
}

/// Weights of a forecast in one list, so that two can be added and compared.
fn weights(home: &TakeHome<'_>) -> Vec<i64> {
    let of = |b: Band| [b.low, b.expected, b.high];
    let bands = home.lines.iter().map(|l| l.weight).chain([home.ground, home.packaged]).flat_map(of);
    let all = bands.chain([home.bone, home.fat, home.loss, home.shrink]).chain(home.parts.iter().map(|(_, w)| *w));
    all.map(Weight::hundredths).collect()
}

fn pieces(home: &TakeHome<'_>) -> Vec<Option<i64>> {
    home.lines.iter().map(|l| l.pieces.map(|p| p.0)).collect()
}

/// A forecast, or nothing where the dice put too much back fat into too little lean.
fn reckoned(hanging: &Hanging, sheet: &Sheet) -> Option<TakeHome<'static>> {
    match take_home(hanging, sheet) {
        Ok(home) => Some(home),
        Err(Refused::Broken(broken)) if broken.iter().all(|n| n.rule == "V11") => None,
        Err(refused) => panic!("{refused:?}\n{sheet:?}"),
    }
}

fn species() -> impl Strategy<Value = Species> {
    prop::sample::select(Species::ALL.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn weight_is_neither_made_nor_lost(
        species in species(), dice: [u8; 24], size in prop::sample::select(Size::ALL.to_vec()), kg: bool,
        hundredths in 1_i64..=9_999_999, sausage in 0_i64..=100,
    ) {
        let small = matches!(species, Species::Lamb | Species::Goat) && size == Size::Quarter;
        let size = if small { Size::Half } else { size };
        let hanging = hanging(species, size, if kg { Unit::Kg } else { Unit::Lb }, hundredths);
        let mut sheet = sheet(species, &dice, size == Size::Whole);
        let Some(plain) = reckoned(&hanging, &sheet) else { return Ok(()) };
        let some = plain.ground.expected.hundredths() * sausage / 100;
        if some > 0 {
            let (seasoning, form) = ("breakfast".to_string(), "bulk".to_string());
            sheet.sausage.push(Sausage { seasoning, form, weight: Weight::from_hundredths(some) });
        }
        let Some(home) = reckoned(&hanging, &sheet) else { return Ok(()) };
        prop_assert_eq!(total(&home), hundredths);
        let packaged: i64 = total(&home) - [home.bone, home.fat, home.loss, home.shrink].iter().map(|w| w.hundredths()).sum::<i64>();
        prop_assert_eq!(home.packaged.expected.hundredths(), packaged);
        prop_assert!(in_order(home.packaged) && in_order(home.ground), "{:?} {:?}", home.packaged, home.ground);
        prop_assert!(home.lines.iter().all(|l| in_order(l.weight)) && home.sausage.iter().all(|s| in_order(s.weight)));
        prop_assert!(home.packaged.high <= hanging.weight);
        let exact = Decimal::from(packaged) * Decimal::ONE_HUNDRED / Decimal::from(hundredths);
        prop_assert!((home.percent_of_hanging - exact).abs() <= Decimal::new(5, 3));
    }

    #[test]
    fn a_line_is_its_fraction_of_the_hanging_weight(species in species(), dice: [u8; 24], hundredths in 1_000_i64..=200_000) {
        let mut sheet = sheet(species, &dice, true);
        sheet.parameters.remove("ground_lean_pct");
        sheet.partitions.clear();
        let Some(home) = reckoned(&hanging(species, Size::Whole, Unit::Lb, hundredths), &sheet) else { return Ok(()) };
        let catalogue = catalogue(species).unwrap();
        let chilled = Decimal::ONE - catalogue.shrink.expected.decimal() / Decimal::ONE_HUNDRED;
        for line in home.lines.iter().filter(|l| l.cut != "tenderloin") {
            let block = catalogue.block(line.block).unwrap();
            let chosen = sheet.blocks.get(line.block).unwrap_or_else(|| &catalogue.profile("standard").unwrap().blocks[line.block]);
            let percent = block.choice(chosen).unwrap().cut[line.cut].decimal();
            let exact = Decimal::new(hundredths, 2) * chilled * block.share.decimal() * percent / Decimal::from(10_000);
            // Four quarters, each off by less than a hundredth.
            prop_assert!((line.weight.expected.decimal() - exact).abs() < Decimal::new(4, 2), "{} {} {}", line.cut, line.weight.expected.plain(), exact);
        }
    }

    #[test]
    fn two_halves_are_the_whole_and_two_quarters_the_half(
        species in species(), dice: [u8; 24], hundredths in 100_i64..=9_999_999, kg: bool,
    ) {
        let unit = if kg { Unit::Kg } else { Unit::Lb };
        let sheet = sheet(species, &dice, false);
        let steps: &[(Size, Size)] = match species {
            Species::Beef | Species::Hog => &[(Size::Whole, Size::Half), (Size::Half, Size::Quarter)],
            Species::Lamb | Species::Goat => &[(Size::Whole, Size::Half)],
        };
        for (large, small) in steps {
            let Some(all) = reckoned(&hanging(species, *large, unit, hundredths), &sheet) else { return Ok(()) };
            let split = by_largest_remainder(hundredths, &[1, 1]).unwrap();
            let halves: Vec<_> = split.iter().map(|w| reckoned(&hanging(species, *small, unit, *w), &sheet).unwrap()).collect();
            let sums: Vec<i64> = weights(&halves[0]).iter().zip(weights(&halves[1])).map(|(a, b)| a + b).collect();
            prop_assert_eq!(sums, weights(&all), "{:?}", large);
            if split[0] == split[1] {
                let twice: Vec<Option<i64>> = pieces(&halves[0]).iter().map(|p| p.map(|p| p * 2)).collect();
                prop_assert_eq!(twice, pieces(&all), "{:?}", large);
            }
        }
    }

    #[test]
    fn nothing_that_is_typed_makes_it_fall_over(
        species in species(), blocks in prop::collection::vec(("[a-z_]{1,12}", "[a-z_]{1,12}"), 0..3),
        parameters in prop::collection::vec((prop::sample::select(vec!["steak_in", "roast_lb", "ground_lean_pct", "bacon_in", "chuck_roasts"]), "[0-9]{0,6}\\.?[0-9]{0,5}"), 0..3),
        pieces in prop::collection::vec(0_u32..=u32::MAX, 0..4), hundredths in 0_i64..=9_999_999, dice: [u8; 24],
        sausage in 0_i64..=9_999_999,
    ) {
        let catalogue = catalogue(species).unwrap();
        let mut sheet = sheet(species, &dice, true);
        sheet.blocks.extend(blocks);
        sheet.parameters.extend(parameters.into_iter().map(|(id, text)| (id.to_string(), text)));
        let block = &catalogue.blocks[usize::from(dice[0]) % catalogue.blocks.len()];
        let slices = pieces.iter().zip(block.choices.iter().cycle()).map(|(n, c)| Slice { choice: c.id.clone(), pieces: *n });
        sheet.partitions.insert(block.id.clone(), slices.collect());
        let (seasoning, form) = ("maple".to_string(), "link".to_string());
        sheet.sausage.push(Sausage { seasoning, form, weight: Weight::from_hundredths(sausage) });
        if let Ok(home) = take_home(&hanging(species, Size::Half, Unit::Lb, hundredths), &sheet) {
            prop_assert_eq!(total(&home), hundredths);
        }
    }
}

#[test]
fn every_profile_is_a_valid_sheet() {
    for species in Species::ALL {
        for profile in &catalogue(*species).unwrap().profiles {
            let sheet = Sheet { blocks: profile.blocks.clone(), ..Sheet::default() };
            let home = take_home(&hanging(*species, Size::Whole, Unit::Lb, 10_000), &sheet);
            let home = home.unwrap_or_else(|e| panic!("{species} {}: {e:?}", profile.id));
            assert_eq!(total(&home), 10_000);
        }
        let standard = Sheet {
            blocks: catalogue(*species).unwrap().profile("standard").unwrap().blocks.clone(),
            ..Sheet::default()
        };
        let hanging = hanging(*species, Size::Half, Unit::Lb, 12_345);
        assert_eq!(take_home(&hanging, &standard), take_home(&hanging, &Sheet::default()), "left out is standard");
    }
}
