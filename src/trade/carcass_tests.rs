//! Checks of the division of a carcass: worked by hand, and adding up for every arrangement.

use super::*;
use proptest::prelude::*;

fn w(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}

fn claims(places: &[Place]) -> Vec<Claim<usize>> {
    places.iter().enumerate().map(|(id, place)| Claim { id, place: *place }).collect()
}

fn weights(hung: Hung, basis: SplitBasis, places: &[Place]) -> Vec<String> {
    divide(hung, basis, &claims(places)).unwrap().shares.iter().map(|s| s.weight.plain()).collect()
}

const L: Side = Side::Left;
const R: Side = Side::Right;
const HALVES: [Place; 2] = [Place::Half(L), Place::Half(R)];
const SPLIT_LEFT: Place = Place::Quarter(L, Part::Split);

#[test]
fn a_half_pays_its_own_side() {
    let hung = Hung::Sides { left: w("82.5"), right: w("80") };
    let division = divide(hung, SplitBasis::AsHung, &claims(&[Place::Half(L)])).unwrap();
    assert_eq!(division.billed, w("82.5"));
    assert_eq!(division.unsold, w("80"));
    assert_eq!(division.total, w("162.5"));
    assert_eq!(division.shares.first().unwrap().origin, Origin::OwnSide);
    assert_eq!(weights(hung, SplitBasis::Even, &HALVES), ["81.25", "81.25"]);
}

#[test]
fn the_left_side_takes_the_odd_hundredth() {
    for basis in [SplitBasis::AsHung, SplitBasis::Even] {
        assert_eq!(weights(Hung::Total(w("163.01")), basis, &HALVES), ["81.51", "81.50"]);
        // Its quarters then split 81.51: the first in the list, not the first on the carcass, takes the odd one.
        assert_eq!(weights(Hung::Total(w("163.01")), basis, &[SPLIT_LEFT, SPLIT_LEFT]), ["40.76", "40.75"]);
        // Alone it goes before the unsold quarter.
        assert_eq!(weights(Hung::Total(w("163.01")), basis, &[SPLIT_LEFT]), ["40.76"]);
        assert_eq!(weights(Hung::Total(w("0.01")), basis, &[Place::Half(R), Place::Half(L)]), ["0.00", "0.01"]);
        assert_eq!(weights(Hung::Total(w("163.01")), basis, &[Place::Whole]), ["163.01"]);
    }
}

#[test]
fn fore_and_hind_are_estimated_only_when_not_weighed() {
    let pair = [Place::Quarter(L, Part::Hind), Place::Quarter(L, Part::Fore)];
    let sides = Hung::Sides { left: w("400"), right: w("390") };
    let division = divide(sides, SplitBasis::AsHung, &claims(&pair)).unwrap();
    assert_eq!(division.shares.iter().map(|s| s.weight.plain()).collect::<Vec<_>>(), ["180.00", "220.00"]);
    assert!(division.shares.iter().all(|s| s.estimated));
    let weighed = Hung::Quarters { left_fore: w("215"), left_hind: w("185"), right_fore: w("0"), right_hind: w("170") };
    let division = divide(weighed, SplitBasis::AsHung, &claims(&pair)).unwrap();
    assert_eq!(division.shares.iter().map(|s| s.weight.plain()).collect::<Vec<_>>(), ["185.00", "215.00"]);
    assert!(division.shares.iter().all(|s| !s.estimated && s.origin == Origin::OwnQuarter));
    // A split quarter and a half take the weighed quarters together.
    assert_eq!(weights(weighed, SplitBasis::AsHung, &[SPLIT_LEFT, Place::Half(R)]), ["200.00", "170.00"]);
    // Even: any quarter is a fourth, weighed or not, and nothing is estimated.
    let even = divide(weighed, SplitBasis::Even, &claims(&pair)).unwrap();
    assert_eq!(even.shares.iter().map(|s| s.weight.plain()).collect::<Vec<_>>(), ["142.50", "142.50"]);
    assert!(even.shares.iter().all(|s| !s.estimated));
    // A tie (5.5 and 4.5 hundredths) goes to the one that is sold.
    let tie = Hung::Sides { left: w("0.1"), right: w("1") };
    assert_eq!(weights(tie, SplitBasis::AsHung, &[Place::Quarter(L, Part::Hind)]), ["0.05"]);
    assert_eq!(weights(tie, SplitBasis::AsHung, &[Place::Quarter(L, Part::Fore)]), ["0.06"]);
}

#[test]
fn a_condemned_side_or_quarter_weighs_nothing_and_divides_nothing() {
    let hung = Hung::Sides { left: w("0"), right: w("80") };
    assert_eq!(weights(hung, SplitBasis::AsHung, &HALVES), ["0.00", "80.00"]);
    let hung = Hung::Quarters { left_fore: w("0"), left_hind: w("0"), right_fore: w("40"), right_hind: w("0") };
    let all = [
        Place::Quarter(L, Part::Fore),
        Place::Quarter(L, Part::Hind),
        Place::Quarter(R, Part::Hind),
        Place::Quarter(R, Part::Fore),
    ];
    assert_eq!(weights(hung, SplitBasis::AsHung, &all), ["0.00", "0.00", "0.00", "40.00"]);
    assert_eq!(divide(Hung::Total(w("0")), SplitBasis::Even, &claims(&[])), Err(CarcassError::Nothing));
    let zero = Hung::Sides { left: w("0"), right: w("0") };
    assert_eq!(divide(zero, SplitBasis::AsHung, &claims(&HALVES)), Err(CarcassError::Nothing));
}

#[test]
fn refuses_what_does_not_hang_together() {
    let hung = Hung::Total(w("160"));
    let refused = |places: &[Place]| divide(hung, SplitBasis::AsHung, &claims(places)).unwrap_err();
    let fore = Place::Quarter(L, Part::Fore);
    let no_room = |share| CarcassError::NoRoom { share, side: L };
    assert_eq!(refused(&[Place::Half(L), Place::Half(L)]), no_room(1));
    assert_eq!(refused(&[Place::Half(R), Place::Half(L), SPLIT_LEFT]), no_room(2));
    assert_eq!(refused(&[SPLIT_LEFT, Place::Half(L)]), no_room(1));
    assert_eq!(refused(&[SPLIT_LEFT, SPLIT_LEFT, SPLIT_LEFT]), no_room(2));
    assert_eq!(refused(&[SPLIT_LEFT, fore]), no_room(1));
    assert_eq!(refused(&[fore, SPLIT_LEFT]), no_room(1));
    assert_eq!(refused(&[fore, fore]), no_room(1));
    assert_eq!(refused(&[Place::Whole, Place::Half(R)]), CarcassError::WholeWithOthers { share: 1 });
    assert_eq!(refused(&[SPLIT_LEFT, Place::Whole]), CarcassError::WholeWithOthers { share: 1 });
    assert_eq!(refused(&[Place::Whole, Place::Whole]), CarcassError::WholeWithOthers { share: 1 });
    let twice = [Claim { id: 7, place: Place::Half(L) }, Claim { id: 7, place: Place::Half(R) }];
    assert_eq!(divide(hung, SplitBasis::Even, &twice), Err(CarcassError::RepeatedId { share: 1 }));
    let heavy = Hung::Sides { left: w("99999.99"), right: w("0.01") };
    assert_eq!(divide(heavy, SplitBasis::Even, &claims(&HALVES)), Err(CarcassError::TooHeavy));
}

fn any_place() -> impl Strategy<Value = Place> {
    let side = prop_oneof![Just(L), Just(R)];
    let part = prop_oneof![3 => Just(Part::Split), 2 => Just(Part::Fore), 2 => Just(Part::Hind)];
    prop_oneof![
        1 => Just(Place::Whole),
        3 => side.clone().prop_map(Place::Half),
        6 => (side, part).prop_map(|(s, p)| Place::Quarter(s, p)),
    ]
}

fn any_hung() -> impl Strategy<Value = Hung> {
    let weight = || prop_oneof![4 => 1_i64..150_000, 1 => 0_i64..20].prop_map(Weight::from_hundredths);
    prop_oneof![
        weight().prop_map(Hung::Total),
        (weight(), weight()).prop_map(|(left, right)| Hung::Sides { left, right }),
        (weight(), weight(), weight(), weight()).prop_map(|(left_fore, left_hind, right_fore, right_hind)| {
            Hung::Quarters { left_fore, left_hind, right_fore, right_hind }
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn every_arrangement_adds_up_to_the_hundredth(hung in any_hung(), even: bool, wanted in prop::collection::vec(any_place(), 0..8)) {
        prop_assume!(!hung.total().unwrap().is_zero());
        let mut places: Vec<Place> = Vec::new();
        for place in wanted {
            if place.fits_beside(&places) {
                places.push(place);
            }
        }
        let basis = if even { SplitBasis::Even } else { SplitBasis::AsHung };
        let division = divide(hung, basis, &claims(&places)).unwrap();
        let sum: i64 = division.shares.iter().map(|s| s.weight.hundredths()).sum();
        prop_assert_eq!(sum, division.billed.hundredths());
        prop_assert_eq!(sum + division.unsold.hundredths(), hung.total().unwrap().hundredths());
        prop_assert!(division.unsold.hundredths() >= 0);
        let quarters: i64 = places.iter().map(|p| p.size().quarters()).sum();
        prop_assert!(quarters <= 4);
        if quarters == 4 {
            prop_assert_eq!(division.unsold, Weight::ZERO);
        }
        // No share is a whole hundredth away from its exact part (in 200ths of a hundredth), the side's odd half included.
        for (share, place) in division.shares.iter().zip(&places) {
            let total = hung.total().unwrap().hundredths();
            let side = |s| match (basis, hung.side(s).unwrap()) {
                (SplitBasis::AsHung, Some(weight)) => 2 * weight.hundredths(),
                _ => total,
            };
            let exact_200 = match (basis, place) {
                (_, Place::Whole) => 200 * total,
                (_, Place::Half(s)) => 100 * side(*s),
                (SplitBasis::AsHung, Place::Quarter(s, part)) if *part != Part::Split => match hung.quarter(*s, *part) {
                    Some(weight) => 200 * weight.hundredths(),
                    None => side(*s) * if *part == Part::Fore { 55 } else { 45 },
                },
                (_, Place::Quarter(s, _)) => 50 * side(*s),
            };
            prop_assert!((200 * share.weight.hundredths() - exact_200).abs() < 200);
        }
    }

    #[test]
    fn places_fit_in_any_order(wanted in prop::collection::vec(any_place(), 2..5)) {
        let fits = |list: &[Place]| (0..list.len()).all(|i| list[i].fits_beside(&list[..i]));
        let mut turned = wanted.clone();
        turned.reverse();
        prop_assert_eq!(fits(&wanted), fits(&turned));
    }
}
