//! What holds for any two sheets of one side, and the settled cases of the notes.

use super::deal::{Dealing, How, broken, deal};
use super::settle::settle;
use super::two::{Two, Who};
use super::{Cutting, Decision, Quarter, Settled, Settlement, Side, Turn, halves};
use crate::trade::cuts::sheet::{Hanging, Refused, Sausage, Sheet, Slice};
use crate::trade::cuts::take_home::{self, TakeHome};
use crate::trade::share::{Part, Size, Species};
use crate::trade::weight::{Unit, Weight};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn hanging(species: Species, hundredths: i64) -> Hanging {
    let weight = Weight::from_hundredths(hundredths);
    let skin_on = species == Species::Hog;
    Hanging {
        species,
        unit: Unit::Lb,
        weight,
        size: Size::Half,
        part: Part::Split,
        age_months: Some(20),
        head_on: true,
        skin_on,
    }
}

fn turn(deposit: Option<i64>, order: i64) -> Turn {
    Turn { deposit, order }
}

/// Settles with the first quarter's deposit first.
fn settled(species: Species, first: &Sheet, second: &Sheet, decided: &[(&str, Decision)]) -> (Settlement, Dealing) {
    let decided = decided.iter().map(|(id, d)| (id.to_string(), *d)).collect();
    let side = Side {
        hanging: hanging(species, 35_000),
        quarters: Two::new(
            Quarter { sheet: Some(first), turn: turn(Some(1), 1) },
            Quarter { sheet: Some(second), turn: turn(Some(2), 2) },
        ),
        others: &[],
        decided: &decided,
    };
    let settlement = settle(&side).unwrap();
    let dealing = deal(&side, &settlement).unwrap();
    (settlement, dealing)
}

fn blocks(all: &[(&str, &str)]) -> Sheet {
    Sheet { blocks: all.iter().map(|(b, c)| (b.to_string(), c.to_string())).collect(), ..Sheet::default() }
}

fn with(mut sheet: Sheet, parameters: &[(&str, &str)]) -> Sheet {
    sheet.parameters.extend(parameters.iter().map(|(id, v)| (id.to_string(), v.to_string())));
    sheet
}

fn item<'a>(settlement: &'a Settlement, id: &str) -> &'a super::Item {
    settlement.items.iter().find(|i| i.id == id).unwrap_or_else(|| panic!("no item {id}"))
}

#[test]
fn equal_wishes_one_blank_and_nothing_said_are_settled() {
    let first = blocks(&[("short_loin", "tbone"), ("flank", "grind")]);
    let second = blocks(&[("short_loin", "tbone")]);
    let (all, _) = settled(Species::Beef, &first, &second, &[]);
    assert_eq!(item(&all, "short_loin").settled, Settled::Same);
    assert_eq!(item(&all, "flank").settled, Settled::Follows(Who::First));
    assert_eq!(item(&all, "sirloin").settled, Settled::Unsaid);
    assert_eq!(all.side.blocks["flank"], "grind");
    assert_eq!(all.sheets.second.blocks["flank"], "grind", "the other quarter’s sheet follows");
    assert_eq!(all.open().count() + all.differing().count(), 0);
}

#[test]
fn ribs_are_given_out_and_the_earlier_deposit_has_the_odd_one() {
    let first = blocks(&[("rib", "rib_roast_bone_in")]);
    let second = blocks(&[("rib", "rib_steak_bone_in")]);
    let (all, dealt) = settled(Species::Beef, &first, &second, &[]);
    let rib = item(&all, "rib");
    assert_eq!(rib.settled, Settled::Pieces);
    assert_eq!(rib.takes, "4 ribs as bone-in rib roast; 3 ribs as bone-in rib steaks");
    assert!(rib.why.contains("7 ribs") && !rib.is_open(), "{}", rib.why);
    let slices =
        [("rib_roast_bone_in", 4), ("rib_steak_bone_in", 3)].map(|(c, pieces)| Slice { choice: c.into(), pieces });
    assert_eq!(all.side.partitions["rib"], slices);
    let of = |cut: &str| dealt.deals.iter().find(|d| d.cut == cut).unwrap();
    assert_eq!(of("rib_roast").weight.second, Weight::ZERO);
    assert_eq!(of("rib_steak").weight.first, Weight::ZERO);
    assert_eq!(of("rib_steak").pieces.unwrap().second.decimal().to_string(), "5", "3 of 7 ribs, an inch thick");
}

#[test]
fn a_single_muscle_is_open_until_the_farm_decides() {
    let first = blocks(&[("short_loin", "tbone")]);
    let second = blocks(&[("short_loin", "strip_boneless_tenderloin")]);
    let decide = |d: &[(&str, Decision)]| settled(Species::Beef, &first, &second, d).0;
    let open = decide(&[]);
    let it = item(&open, "short_loin");
    assert!(it.is_open());
    assert_eq!(it.may, [Decision::First, Decision::Second, Decision::Standard]);
    assert_eq!(open.side.blocks["short_loin"], "tbone", "the standard cut holds");
    assert!(it.why.contains("short loin") && it.why.contains("Until the farm decides"), "{}", it.why);
    let second_wins = decide(&[("short_loin", Decision::Second)]);
    assert_eq!(item(&second_wins, "short_loin").settled, Settled::Decided(Decision::Second));
    for sheet in second_wins.sheets.each() {
        assert_eq!(sheet.blocks["short_loin"], "strip_boneless_tenderloin");
    }
    let no_pieces = decide(&[("short_loin", Decision::Pieces)]);
    assert!(item(&no_pieces, "short_loin").is_open(), "what cannot be divided is not decided by pieces");
    let standard = decide(&[("short_loin", Decision::Standard)]);
    assert_eq!(standard.open().count(), 0);
}

#[test]
fn blocks_that_are_taken_together_are_settled_together() {
    let catalogue = halves::catalogue(Species::Hog).unwrap();
    let loin: Vec<&str> = catalogue.blocks.iter().filter(|b| b.primal == "loin").map(|b| b.id.as_str()).collect();
    let whole = |c: &str, of: &[&str]| blocks(&of.iter().map(|b| (*b, c)).collect::<Vec<_>>());
    let first = whole("whole_boneless_roast", &loin);
    let second = whole("chops_bone_in", &loin[1..]);
    let (open, _) = settled(Species::Hog, &first, &second, &[]);
    let it = item(&open, "loin_blade");
    assert!(it.is_open() && !open.items.iter().any(|i| i.id == loin[1]));
    assert_eq!(it.name, "loin, blade end, loin, center and loin, sirloin end");
    let (first_wins, _) = settled(Species::Hog, &first, &second, &[("loin_blade", Decision::First)]);
    for block in loin {
        assert_eq!(first_wins.side.blocks[block], "whole_boneless_roast");
    }
    assert!(check(Species::Hog, &first_wins).is_ok());
}

#[test]
fn what_is_sawn_in_one_run_has_one_thickness() {
    let first = with(blocks(&[("short_loin", "tbone")]), &[("steak_in", "1.5"), ("steaks_per_pkg", "4")]);
    let second = with(blocks(&[("short_loin", "tbone")]), &[("steak_in", "0.75")]);
    let (open, _) = settled(Species::Beef, &first, &second, &[]);
    let it = item(&open, "steak_in");
    assert!(it.is_open());
    assert_eq!((it.wishes.first.as_deref(), it.takes.as_str()), (Some("1½ inches"), "1 inch"));
    let (decided, dealt) = settled(Species::Beef, &first, &second, &[("steak_in", Decision::First)]);
    assert_eq!(decided.sheets.second.parameters["steak_in"], "1.5");
    assert_eq!(decided.sheets.first.parameters["steaks_per_pkg"], "4", "packs are each household’s own");
    assert!(!decided.sheets.second.parameters.contains_key("steaks_per_pkg"));
    let tbone = dealt.deals.iter().find(|d| d.cut == "tbone_porterhouse").unwrap();
    // 15 inches at 1½: 9 steaks.
    let n = tbone.pieces.unwrap().map(|p| p.0 / 4);
    assert_eq!((n.sum(), (n.first - n.second).abs()), (9, 1));
}

#[test]
fn two_sheets_that_ask_for_too_much_together_are_said() {
    let asks = |hundredths: i64| {
        let (seasoning, form) = ("breakfast".to_string(), "bulk".to_string());
        let weight = Weight::from_hundredths(hundredths);
        Sheet { sausage: vec![Sausage { seasoning, form, weight }], ..Sheet::default() }
    };
    let none = BTreeMap::new();
    let found = |each: i64| {
        let sheet = asks(each);
        let quarter = |order| Quarter { sheet: Some(&sheet), turn: turn(None, order) };
        let quarters = Two::new(quarter(1), quarter(2));
        let side = Side { hanging: hanging(Species::Hog, 9_000), quarters, others: &[], decided: &none };
        let settlement = settle(&side).unwrap();
        let rules: Vec<String> = broken(&side, &settlement).unwrap().into_iter().map(|n| n.rule).collect();
        let dealing = deal(&side, &settlement).unwrap();
        (rules, dealing.ground.map(Weight::hundredths))
    };
    let (rules, ground) = found(500);
    assert!(rules.is_empty() && ground.first >= 500 && ground.second >= 500, "{rules:?} {ground:?}");
    assert_eq!(found(2_000).0, ["H8", "V9"]);
}

#[test]
fn the_standard_cut_is_dealt_as_the_table_says() {
    let (_, dealt) = settled(Species::Beef, &Sheet::default(), &Sheet::default(), &[]);
    let of = |cut: &str| dealt.deals.iter().find(|d| d.cut == cut).unwrap_or_else(|| panic!("{cut}"));
    let owner = |cut: &str| match of(cut).how {
        How::Uncut(who) => who,
        how => panic!("{cut}: {how:?}"),
    };
    assert_ne!(owner("brisket_flat"), owner("brisket_point"), "flat to one, point to the other");
    let singles = ["flank_steak", "tri_tip", "inside_skirt", "outside_skirt", "hanger"].map(owner);
    assert!(Who::BOTH.into_iter().all(|who| singles.contains(&who)), "{singles:?}");
    assert_eq!(of("eye_roast").how, How::Halved);
    assert_eq!(of("rib_steak").pieces.unwrap().map(|p| p.0 / 4), Two::new(6, 6), "12 rib steaks");
    assert_eq!(of("plate_short_ribs").how, How::ByWeight);
    let (_, roasts) = settled(Species::Beef, &blocks(&[("rib", "rib_roast_bone_in")]), &Sheet::default(), &[]);
    let rib = roasts.deals.iter().find(|d| d.cut == "rib_roast").unwrap();
    let How::Bones(ribs) = rib.how else { panic!("{rib:?}") };
    assert_eq!((ribs.sum(), (ribs.first - ribs.second).abs()), (7, 1));
}

/// The agreed side as a half would be reckoned.
fn check(species: Species, settlement: &Settlement) -> Result<TakeHome<'static>, Refused> {
    let (catalogue, common) = (halves::catalogue(species).unwrap(), halves::common().unwrap());
    take_home::by(catalogue, common, &hanging(species, 35_000), &settlement.side)
}

fn as_half(side: &Side<'_>, settlement: &Settlement) -> Option<TakeHome<'static>> {
    let (catalogue, common) = (halves::catalogue(side.hanging.species).unwrap(), halves::common().unwrap());
    match take_home::by(catalogue, common, &side.hanging, &settlement.side) {
        Ok(home) => Some(home),
        // Dice put too much back fat into too little lean, or roasts into a tiny carcass.
        Err(Refused::Broken(notes)) if notes.iter().all(|n| matches!(n.rule.as_str(), "V11" | "V6")) => None,
        Err(refused) => panic!("{refused:?}\n{:?}", settlement.side),
    }
}

/// A quarter’s sheet out of dice.
fn sheet(species: Species, dice: &[u8]) -> Sheet {
    let catalogue = crate::trade::cuts::catalogue(species).unwrap();
    let mut sheet = Sheet::default();
    let die = |i: usize| dice.get(i % dice.len()).copied().unwrap_or(0);
    for (i, block) in catalogue.blocks.iter().enumerate() {
        let may: Vec<_> = block
            .choices
            .iter()
            .filter(|c| c.together.is_none() && c.with_part.is_none() && c.whole_animal.is_empty())
            .collect();
        let choice = |n: u8| may[usize::from(n) % may.len()].id.clone();
        match &block.pieces {
            Some(pieces) if die(i) % 4 == 0 => {
                let first = 2 + u32::from(die(i)) % (pieces.number - 3);
                let slices = [(die(i), first), (die(i) / 7, pieces.number - first)];
                let slices = slices.map(|(n, pieces)| Slice { choice: choice(n), pieces });
                sheet.partitions.insert(block.id.clone(), slices.to_vec());
            }
            _ if die(i) % 4 == 3 => {}
            _ => drop(sheet.blocks.insert(block.id.clone(), choice(die(i)))),
        }
    }
    let mut set = |id: &str, words: &[&str], n: u8| {
        if let Some(word) = words.get(usize::from(n)) {
            sheet.parameters.insert(id.to_string(), (*word).to_string());
        }
    };
    match species {
        Species::Beef => {
            set("ground_lean_pct", &["75", "90"], die(21) % 5);
            set("steak_in", &["0.75", "1.25"], die(22) % 5);
        }
        _ => set("pork_chop_in", &["0.5", "1"], die(22) % 5),
    }
    sheet
}

fn decided(settlement: &Settlement, dice: &[u8]) -> BTreeMap<String, Decision> {
    let pick = |(i, n): (&super::Item, &u8)| Some((i.id.clone(), *i.may.get(usize::from(*n) % 5)?));
    settlement.differing().zip(dice).filter_map(pick).collect()
}

fn flipped(d: Decision) -> Decision {
    match d {
        Decision::First => Decision::Second,
        Decision::Second => Decision::First,
        d => d,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn two_quarters_are_the_side_and_nothing_is_lost_or_doubled(
        beef: bool, a in prop::collection::vec(any::<u8>(), 24), b in prop::collection::vec(any::<u8>(), 24),
        deposits in (prop::option::of(0_i64..3), prop::option::of(0_i64..3)), hundredths in 4_000_i64..60_000,
        choices in prop::collection::vec(any::<u8>(), 20),
    ) {
        let species = if beef { Species::Beef } else { Species::Hog };
        let (a, b) = (sheet(species, &a), sheet(species, &b));
        let none = BTreeMap::new();
        let first = Quarter { sheet: Some(&a), turn: turn(deposits.0, 7) };
        let second = Quarter { sheet: Some(&b), turn: turn(deposits.1, 9) };
        let open = Side { hanging: hanging(species, hundredths), quarters: Two::new(first, second), others: &[], decided: &none };
        let decisions = decided(&settle(&open).unwrap(), &choices);
        let side = Side { decided: &decisions, ..open };
        let settlement = settle(&side).unwrap();
        let dealing = deal(&side, &settlement).unwrap();

        // Weight: all that is dealt and all that is gone are the side.
        let of = |w: Two<Weight>| w.map(Weight::hundredths).sum();
        let cuts: i64 = dealing.deals.iter().map(|d| of(d.weight)).sum();
        prop_assert_eq!(cuts + of(dealing.ground) + dealing.gone.hundredths(), hundredths);
        prop_assert_eq!(cuts + of(dealing.ground), of(dealing.packaged));

        // The side reckoned as one half gives the same, cut by cut, and the same pieces.
        if let Some(home) = as_half(&side, &settlement) {
            prop_assert_eq!(of(dealing.ground), home.ground.expected.hundredths());
            prop_assert_eq!(dealing.deals.len(), home.lines.len());
            for (deal, line) in dealing.deals.iter().zip(&home.lines) {
                prop_assert_eq!((deal.block, deal.cut), (line.block, line.cut));
                prop_assert_eq!(of(deal.weight), line.weight.expected.hundredths(), "{}", deal.cut);
                let shared = settlement.cuttings.iter().any(|(id, c)| id == deal.block && matches!(c, Cutting::Side(_)));
                if let (true, Some(pieces)) = (shared, deal.pieces) {
                    prop_assert_eq!(Some(pieces.first.0 + pieces.second.0), line.pieces.map(|p| p.0), "{}", deal.cut);
                }
            }
        }

        // Everybody gets what the own cutting gives of half the side.
        for who in Who::BOTH {
            let (got, target) = (dealing.packaged.of(who).hundredths(), dealing.target.of(who).hundredths());
            prop_assert!((got - target).abs() * 100 <= target * 3 + 100, "{got} for {target}\n{dealing:?}");
        }
        for deal in &dealing.deals {
            for who in Who::BOTH {
                prop_assert!(deal.weight.of(who).hundredths() >= 0 && deal.pieces.is_none_or(|p| p.of(who).0 >= 0));
            }
        }

        // Which quarter is written first makes no difference.
        let flipped = decisions.iter().map(|(id, d)| (id.clone(), flipped(*d))).collect();
        let other = Side { quarters: Two::new(second, first), decided: &flipped, ..side };
        let turned = settle(&other).unwrap();
        prop_assert_eq!(&turned.side, &settlement.side);
        prop_assert_eq!(&turned.sheets.first, &settlement.sheets.second);
        let again = deal(&other, &turned).unwrap();
        prop_assert_eq!(again.packaged.first, dealing.packaged.second);
        prop_assert_eq!(again.ground.second, dealing.ground.first);
        for (one, other) in again.deals.iter().zip(&dealing.deals) {
            prop_assert_eq!((one.weight.first, one.weight.second), (other.weight.second, other.weight.first), "{}", one.cut);
            prop_assert_eq!(one.pieces.map(|p| (p.first, p.second)), other.pieces.map(|p| (p.second, p.first)), "{}", one.cut);
        }
    }

    #[test]
    fn equal_sheets_leave_nothing_to_settle(beef: bool, dice in prop::collection::vec(any::<u8>(), 24)) {
        let species = if beef { Species::Beef } else { Species::Hog };
        let sheet = sheet(species, &dice);
        let (all, _) = settled(species, &sheet, &sheet, &[]);
        prop_assert_eq!(all.differing().count(), 0);
        prop_assert_eq!(all.sheets.first.blocks, all.sheets.second.blocks);
    }
}
