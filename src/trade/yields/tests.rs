//! The formula by hand, the rings, the styles of the catalogue's own sheets, and what holds for any shares.

use super::style::{Style, standard_bone, style};
use super::*;
use crate::trade::cuts::catalogue;
use crate::trade::cuts::sheet::{Hanging, Sheet};
use crate::trade::cuts::take_home::{TakeHome, take_home};
use crate::trade::share::{Part, Size};
use crate::trade::weight::Unit;
use proptest::prelude::*;

fn w(hundredths: i64) -> Weight {
    Weight::from_hundredths(hundredths)
}

/// A share that was forecast at 100 lb, from 92 to 108.
fn came(plant: u8, style: Style, actual: i64) -> Observed<u8> {
    let forecast = Band { low: w(9_200), expected: w(10_000), high: w(10_800) };
    Observed { species: Species::Beef, plant, style, forecast, actual: w(actual) }
}

const HERE: Asked<u8> = Asked { species: Species::Beef, plant: Some(1), style: Some(Style::BoneIn) };

#[test]
fn the_formula_can_be_done_again_by_hand() {
    let one = [came(1, Style::BoneIn, 9_400)];
    // (8 × 1 + 0.94) / 9
    assert_eq!(learn(&one, &HERE), Learned { factor: Factor(993_333), shares: 1, alike: 1 });
    assert_eq!(learn(&one, &HERE).factor.shown(), "×0.993");
    let eight = [came(1, Style::BoneIn, 9_400); 8];
    // Half of the way to 0.94.
    let half = learn(&eight, &HERE).factor;
    assert_eq!((half, half.shown(), half.percent()), (Factor(970_000), "×0.970".into(), "97 %".into()));
    assert_eq!(half.of(w(17_755)), w(17_222), "177.55 × 0.97 = 172.2235");
}

#[test]
fn every_share_lies_in_one_ring() {
    let mut all = vec![came(2, Style::BoneIn, 9_400); 8];
    // Of another plant: (8 + 7.52) / 16 = 0.97, and nothing nearer.
    assert_eq!(learn(&all, &HERE), Learned { factor: Factor(970_000), shares: 8, alike: 0 });
    all.extend([came(1, Style::Boneless, 10_300); 8]);
    // (8 × 0.97 + 8.24) / 16 = 1
    assert_eq!(learn(&all, &HERE), Learned { factor: Factor::PUBLISHED, shares: 16, alike: 0 });
    all.extend([came(1, Style::BoneIn, 9_600); 2]);
    // (8 × 1 + 1.92) / 10 = 0.992
    assert_eq!(learn(&all, &HERE), Learned { factor: Factor(992_000), shares: 18, alike: 2 });
    let anywhere = Asked { plant: None, style: None, ..HERE };
    // (8 + 8 × 0.94 + 8 × 1.03 + 2 × 0.96) / 26 = 0.987692
    assert_eq!(learn(&all, &anywhere), Learned { factor: Factor(987_692), shares: 18, alike: 18 });
}

#[test]
fn what_lies_outside_the_published_range_is_not_learned_from() {
    for (actual, counts) in [(9_199, false), (9_200, true), (10_800, true), (10_801, false)] {
        let share = came(1, Style::BoneIn, actual);
        assert_eq!(share.counts(), counts, "{actual}");
        assert_eq!(learn(&[share], &HERE).shares, usize::from(counts), "{actual}");
    }
    let nothing = Observed { forecast: Band::default(), actual: Weight::ZERO, ..came(1, Style::BoneIn, 0) };
    assert!(!nothing.counts(), "nothing was forecast");
    let hog = Observed { species: Species::Hog, ..came(1, Style::BoneIn, 9_400) };
    assert_eq!(learn(&[hog], &HERE).factor, Factor::PUBLISHED, "another species says nothing");
}

/// A whole animal of usual weight.
fn hanging(species: Species) -> Hanging {
    let weight = match species {
        Species::Beef => 76_000,
        Species::Hog => 18_000,
        Species::Lamb => 6_000,
        Species::Goat => 2_500,
    };
    Hanging {
        species,
        unit: Unit::Lb,
        weight: w(weight),
        size: Size::Whole,
        part: Part::Split,
        age_months: None,
        head_on: false,
        skin_on: false,
    }
}

#[test]
fn the_catalogues_own_sheets_have_the_style_of_their_names() {
    use Style::{BoneIn, Boneless, BonelessGround};
    for (species, profile, wanted) in [
        (Species::Beef, "standard", BoneIn),
        (Species::Beef, "standard_30_months", Boneless),
        (Species::Beef, "boneless", Boneless),
        (Species::Beef, "mostly_ground", BonelessGround),
        (Species::Hog, "standard", BoneIn),
        (Species::Hog, "boneless", Boneless),
        (Species::Hog, "whole_hog_sausage", BonelessGround),
        (Species::Lamb, "standard", BoneIn),
        (Species::Lamb, "boneless", Boneless),
        (Species::Goat, "all_cubes", BoneIn),
        (Species::Goat, "boneless_grind", Boneless),
    ] {
        let hanging = hanging(species);
        let blocks = catalogue(species).unwrap().profiles.iter().find(|p| p.id == profile).unwrap().blocks.clone();
        let home = take_home(&hanging, &Sheet { blocks, ..Sheet::default() }).unwrap();
        assert_eq!(style(&home, &hanging, standard_bone(&hanging).unwrap()), wanted, "{species} {profile}");
    }
}

fn mass(home: &TakeHome<'_>) -> i64 {
    [home.packaged.expected, home.bone, home.fat, home.loss, home.shrink].iter().map(|w| w.hundredths()).sum()
}

#[test]
fn a_forecast_adds_up_whatever_was_learned() {
    let hanging = hanging(Species::Hog);
    let before = take_home(&hanging, &Sheet::default()).unwrap();
    let light = learn(&[came(1, Style::BoneIn, 9_300); 40], &HERE).factor;
    assert!(light.of(before.packaged.expected) < before.packaged.expected, "it says something else");
    assert_eq!(mass(&before), 18_000, "what is published is the sum of its parts; what was learned stands beside it");
}

fn any_style() -> impl Strategy<Value = Style> {
    prop::sample::select(Style::ALL)
}

fn any_share() -> impl Strategy<Value = Observed<u8>> {
    (0_u8..3, any_style(), 8_800_i64..11_200).prop_map(|(plant, style, actual)| came(plant, style, actual))
}

fn any_asked() -> impl Strategy<Value = Asked<u8>> {
    (prop::option::of(0_u8..3), prop::option::of(any_style())).prop_map(|(plant, style)| Asked {
        species: Species::Beef,
        plant,
        style,
    })
}

proptest! {
    #[test]
    fn without_shares_a_factor_is_one(asked in any_asked(), outside in prop::collection::vec(10_801_i64..99_999, 0..5)) {
        let none: Vec<_> = outside.into_iter().map(|actual| came(1, Style::BoneIn, actual)).collect();
        prop_assert_eq!(learn(&none, &asked), Learned { factor: Factor::PUBLISHED, shares: 0, alike: 0 });
    }

    #[test]
    fn the_order_of_shares_says_nothing(
        (all, mixed) in prop::collection::vec(any_share(), 0..30).prop_flat_map(|v| (Just(v.clone()), Just(v).prop_shuffle())),
        asked in any_asked(),
    ) {
        prop_assert_eq!(learn(&all, &asked), learn(&mixed, &asked));
    }

    #[test]
    fn a_factor_lies_between_one_and_what_came_home(all in prop::collection::vec(any_share(), 0..30), asked in any_asked()) {
        let ratios = || all.iter().filter(|s| s.counts()).filter_map(Observed::ratio).chain([Factor::PUBLISHED]);
        let factor = learn(&all, &asked).factor;
        prop_assert!(factor >= ratios().min().unwrap() && factor <= ratios().max().unwrap());
    }

    /// With one plant and one way of cutting it lies between 1 and the mean.
    #[test]
    fn one_ring_is_drawn_towards_its_mean(actual in prop::collection::vec(9_200_i64..=10_800, 1..60)) {
        let all: Vec<_> = actual.iter().map(|actual| came(1, Style::BoneIn, *actual)).collect();
        let n = i64::try_from(all.len()).unwrap();
        let sum: i64 = all.iter().map(|s| s.ratio().unwrap().0).sum();
        let factor = learn(&all, &HERE).factor.0;
        // n × factor against n × 1 and the sum, rounded by half a millionth each.
        prop_assert!(n * factor >= (n * ONE).min(sum) - n && n * factor <= (n * ONE).max(sum) + n);
    }

    #[test]
    fn more_that_came_home_never_makes_less(
        all in prop::collection::vec(any_share(), 1..30),
        which: prop::sample::Index,
        more in 0_i64..500,
        asked in any_asked(),
    ) {
        let i = which.index(all.len());
        let mut heavier = all.clone();
        heavier[i].actual = w(all[i].actual.hundredths() + more);
        // Over the edge of the range it would not count any more.
        prop_assume!(all[i].counts() == heavier[i].counts());
        prop_assert!(learn(&heavier, &asked).factor >= learn(&all, &asked).factor);
    }

    #[test]
    fn the_more_shares_the_nearer_to_them(n in 1_usize..50, actual in 9_200_i64..10_000) {
        let of = |n| learn(&vec![came(1, Style::BoneIn, actual); n], &HERE).factor;
        prop_assert!(of(n + 1) <= of(n) && of(n) < Factor::PUBLISHED);
        prop_assert!(of(n) >= Factor::ratio(w(actual), w(10_000)).unwrap());
    }
}
