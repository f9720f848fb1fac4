//! Outcomes a farmer would shake the head at, one for each criterion.

use super::farm::{at, day, farm, head, on, order, solve, stands};
use gambrel::trade::plan::{Criterion, SheetDifference, Sides};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::weight::Weight;

#[test]
fn a_late_whole_does_not_displace_an_earlier_half_and_quarter() {
    let orders = vec![order("half", Size::Half, 1), order("quarter", Size::Quarter, 2), order("whole", Size::Whole, 3)];
    let made = solve(&farm(vec![head("A", 4)], orders));
    // 2 × 3 + 1 × 2 = 8 against 4 × 1 = 4.
    assert_eq!((made.score.paid, made.places[2]), (8, None));
    assert_eq!(made.places[..2], [at(0, Sides::Left), at(0, Sides::Right)]);
}

#[test]
fn a_quarter_does_not_spoil_a_saleable_side() {
    let mut a = head("A", 4);
    a.taken = [1, 0];
    let made = solve(&farm(vec![a, head("B", 4)], vec![order("quarter", Size::Quarter, 1)]));
    assert_eq!(made.places, [at(0, Sides::Left)]);
    // Also with nothing taken: two quarters share a side.
    let two = vec![order("one", Size::Quarter, 1), order("two", Size::Quarter, 2)];
    let made = solve(&farm(vec![head("A", 4)], two));
    assert_eq!((made.places, made.score.half_filled_sides), (vec![at(0, Sides::Left); 2], 0));
}

#[test]
fn a_deposit_counts_before_an_earlier_word() {
    let mut early = order("early", Size::Whole, 1);
    early.deposit_paid = false;
    let made = solve(&farm(vec![head("A", 4)], vec![early, order("paid", Size::Quarter, 2)]));
    assert_eq!(made.places, [None, at(0, Sides::Left)]);
}

#[test]
fn a_word_without_a_deposit_is_kept_though_it_leaves_quarters_unsold_or_moves_somebody() {
    let mut word = order("word", Size::Quarter, 1);
    word.deposit_paid = false;
    let made = solve(&farm(vec![head("A", 4)], vec![word.clone()]));
    assert_eq!((made.places, made.score.unsold_custom), (vec![at(0, Sides::Left)], 3));
    // The whole without a deposit needs an animal of its own: one of two quarters moves for it.
    word.size = Size::Whole;
    let mut orders = vec![
        stands(order("a", Size::Quarter, 2), 0, Sides::Left, false),
        stands(order("b", Size::Quarter, 3), 1, Sides::Left, false),
        word,
    ];
    orders.iter_mut().for_each(|o| o.deposit_paid = false);
    let made = solve(&farm(vec![head("A", 4), head("B", 4)], orders));
    assert_eq!((made.places.iter().flatten().count(), made.score.moved), (3, 1));
}

#[test]
fn two_who_like_each_others_date_are_not_both_disappointed() {
    let orders = vec![on(order("a", Size::Whole, 1), &[18, 4]), on(order("b", Size::Whole, 2), &[4, 18])];
    let made = solve(&farm(vec![head("A", 4), head("B", 18)], orders));
    assert_eq!((made.score.date_rank, made.places), (0, vec![at(1, Sides::Both), at(0, Sides::Both)]));
    // Not at the price of another animal that is left part-sold at a custom-exempt plant (the criterion before it).
    let halves = vec![on(order("a", Size::Half, 1), &[18, 4]), on(order("b", Size::Half, 2), &[4, 18])];
    assert_eq!(solve(&farm(vec![head("A", 4), head("B", 18)], halves)).score.date_rank, 2);
}

#[test]
fn what_is_arranged_stays_even_when_another_date_is_liked_better() {
    let liked = stands(on(order("R", Size::Half, 1), &[4, 18]), 1, Sides::Right, false);
    let mut problem = farm(vec![head("A", 4), head("B", 18)], vec![liked]);
    let made = solve(&problem);
    assert_eq!((made.places[0], made.score.moved, made.score.date_rank), (at(1, Sides::Right), 0, 2));
    problem.keep = false;
    let made = solve(&problem);
    assert_eq!((made.places[0], made.score.moved), (at(0, Sides::Left), 0));
}

#[test]
fn a_promise_is_kept_even_when_others_must_move() {
    // Two quarters on two animals leave no whole one; one of them moves beside the other.
    let orders = vec![
        stands(order("a", Size::Quarter, 1), 0, Sides::Left, false),
        stands(order("b", Size::Quarter, 2), 1, Sides::Left, false),
        order("whole", Size::Whole, 3),
    ];
    let made = solve(&farm(vec![head("A", 4), head("B", 4)], orders));
    assert_eq!((made.score.paid, made.score.moved), (3 + 2 + 4, 1));
    assert_eq!(made.places, [at(0, Sides::Left), at(0, Sides::Left), at(1, Sides::Both)]);
}

#[test]
fn steers_for_a_custom_plant_are_not_left_half_sold() {
    let halves = vec![order("a", Size::Half, 1), order("b", Size::Half, 2)];
    let made = solve(&farm(vec![head("A", 4), head("B", 18)], halves.clone()));
    assert_eq!((made.score.unsold_custom, made.score.opened), (0, 1));
    // Though each likes another date first.
    let apart = vec![on(halves[0].clone(), &[4, 18]), on(halves[1].clone(), &[18, 4])];
    let made = solve(&farm(vec![head("A", 4), head("B", 18)], apart));
    assert_eq!((made.score.unsold_custom, made.score.date_rank), (0, 2));
}

#[test]
fn an_inspected_plant_may_have_the_rest() {
    let mut inspected = head("B", 18);
    inspected.custom_exempt = false;
    let made = solve(&farm(vec![head("A", 4), inspected], vec![order("a", Size::Quarter, 1)]));
    assert_eq!((made.places[0], made.score.unsold_custom), (at(1, Sides::Left), 0));
}

#[test]
fn a_group_that_fits_on_one_animal_is_on_one() {
    let mut heads = vec![head("A", 4), head("B", 4), head("C", 18)];
    heads.iter_mut().for_each(|h| h.custom_exempt = false);
    heads[0].taken = [0, 2];
    let group: Vec<_> = (1..=2)
        .map(|n| {
            let mut o = order(&format!("R{n}"), Size::Half, n);
            o.together = Some("g".to_string());
            o
        })
        .collect();
    let made = solve(&farm(heads.clone(), group.clone()));
    assert_eq!((made.score.groups, made.places), (1, vec![at(1, Sides::Left), at(1, Sides::Right)]));
    // Two wholes do not fit on one animal: one date is enough.
    let mut wholes = group;
    wholes.iter_mut().for_each(|o| o.size = Size::Whole);
    heads[0].taken = [0, 0];
    let made = solve(&farm(heads, wholes));
    assert_eq!((made.score.groups, made.places), (1, vec![at(0, Sides::Both), at(1, Sides::Both)]));
}

#[test]
fn a_group_of_two_species_is_on_one_date() {
    let mut hog = head("H", 18);
    hog.species = Species::Hog;
    let mut early = hog.clone();
    (early.id, early.date) = ("E".to_string(), day(11));
    let mut orders = vec![on(order("beef", Size::Half, 1), &[4, 18]), order("hog", Size::Half, 2)];
    orders[1].species = Species::Hog;
    orders.iter_mut().for_each(|o| o.together = Some("g".to_string()));
    let made = solve(&farm(vec![head("A", 4), head("B", 18), early, hog], orders));
    assert_eq!((made.score.groups, made.score.date_rank), (1, 2));
    assert_eq!(made.places, [at(1, Sides::Left), at(3, Sides::Left)]);
}

#[test]
fn a_group_never_costs_a_promise() {
    // Together on the 4th only if the early whole is left out.
    let mut pair = vec![on(order("a", Size::Half, 2), &[4]), on(order("b", Size::Half, 3), &[4, 18])];
    pair.iter_mut().for_each(|o| o.together = Some("g".to_string()));
    let mut orders = vec![on(order("early", Size::Half, 1), &[4])];
    orders.extend(pair);
    let made = solve(&farm(vec![head("A", 4), head("B", 18)], orders));
    assert_eq!((made.score.groups, made.places.iter().flatten().count()), (0, 3));
}

#[test]
fn no_more_animals_are_opened_than_needed() {
    let mut heads = vec![head("A", 4), head("B", 4)];
    heads.iter_mut().for_each(|h| h.custom_exempt = false);
    let made = solve(&farm(heads, vec![order("a", Size::Half, 1), order("b", Size::Quarter, 2)]));
    assert_eq!(made.score.opened, 1);
}

#[test]
fn the_small_family_gets_the_small_animal() {
    let mut heads = vec![head("big", 4), head("small", 4)];
    heads[1].hanging = Some(Weight::from_hundredths(60_000));
    let mut orders = vec![order("any", Size::Whole, 1), order("small", Size::Whole, 2)];
    orders[1].asked = (None, Some(Weight::from_hundredths(60_000)));
    let made = solve(&farm(heads, orders));
    assert_eq!((made.score.weight_outside, made.places), (0, vec![at(0, Sides::Both), at(1, Sides::Both)]));
}

#[test]
fn a_share_weighs_its_quarters_rounded_half_up() {
    let mut a = head("A", 4);
    a.hanging = Some(Weight::from_hundredths(10_002)); // a quarter is 25.005
    let mut r = order("R", Size::Quarter, 1);
    r.asked = (Some(Weight::from_hundredths(2_502)), None);
    assert_eq!(solve(&farm(vec![a], vec![r])).score.weight_outside, 1);
}

#[test]
fn quarters_of_one_side_like_the_same_cuts() {
    let orders: Vec<_> = (1..=4).map(|n| order(&format!("R{n}"), Size::Quarter, n)).collect();
    let mut problem = farm(vec![head("A", 4)], orders);
    problem.sheet_differences =
        vec![SheetDifference { a: 0, b: 1, blocks: 3 }, SheetDifference { a: 2, b: 3, blocks: 2 }];
    let made = solve(&problem);
    assert_eq!(made.score.sheet_differences, 0);
    assert_eq!(made.places, [Sides::Left, Sides::Right, Sides::Left, Sides::Right].map(|s| at(0, s)));
}

#[test]
fn a_custom_head_is_opened_only_for_enough_quarters() {
    let mut problem = farm(vec![head("A", 4)], vec![order("a", Size::Half, 1), order("b", Size::Quarter, 2)]);
    problem.open_custom_from = 4;
    assert_eq!(solve(&problem).places, [None, None]);
    problem.open_custom_from = 3;
    assert_eq!(solve(&problem).score.paid, 2 * 2 + 1);
    // One that stands is open already, and so is one of an inspected plant.
    problem.open_custom_from = 4;
    problem.heads[0].taken = [1, 0];
    assert_eq!(solve(&problem).score.paid, 2 * 2 + 1);
    problem.heads[0].taken = [0, 0];
    problem.heads[0].custom_exempt = false;
    assert_eq!(solve(&problem).score.paid, 2 * 2 + 1);
}

#[test]
fn withdrawal_comes_before_everything() {
    let mut a = head("A", 4);
    a.not_before = Some(day(5));
    let paid = stands(order("R", Size::Half, 1), 0, Sides::Left, false);
    assert_eq!(solve(&farm(vec![a.clone()], vec![paid.clone()])).places, [None]);
    // Only a lock stays, and on the day itself it is allowed again.
    let locked = stands(order("R", Size::Half, 1), 0, Sides::Left, true);
    assert_eq!(solve(&farm(vec![a.clone()], vec![locked])).places, [at(0, Sides::Left)]);
    a.not_before = Some(day(4));
    assert_eq!(solve(&farm(vec![a], vec![paid])).places, [at(0, Sides::Left)]);
}

#[test]
fn a_lock_stays_in_spite_of_its_dates_and_ranks_last() {
    let locked = stands(on(order("R", Size::Half, 1), &[18, 25]), 0, Sides::Right, true);
    let made = solve(&farm(vec![head("A", 4), head("B", 18)], vec![locked]));
    assert_eq!((made.places[0], made.score.date_rank), (at(0, Sides::Right), 4));
}

#[test]
fn among_equals_the_first_animal_and_the_left_side() {
    let heads: Vec<_> = ["A", "B", "C"].iter().map(|id| head(id, 4)).collect();
    let orders = vec![order("q", Size::Quarter, 1), order("w", Size::Whole, 2), order("h", Size::Half, 3)];
    let made = solve(&farm(heads, orders));
    assert_eq!(made.places, [at(0, Sides::Left), at(1, Sides::Both), at(0, Sides::Right)]);
}

#[test]
fn equal_times_go_by_the_list() {
    let made = solve(&farm(vec![head("A", 4)], vec![order("a", Size::Whole, 1), order("b", Size::Whole, 1)]));
    assert_eq!((made.places, made.score.paid), (vec![at(0, Sides::Both), None], 8));
}

#[test]
fn every_criterion_names_its_test() {
    let words = include_str!("../../../src/trade/plan/score.rs").split("pub enum Criterion {").nth(1).unwrap();
    let words = words.split("impl Criterion").next().unwrap();
    let named: Vec<&str> = words.split('`').skip(1).step_by(2).collect();
    let here = include_str!("silly.rs");
    assert_eq!(named.len(), Criterion::ALL.len());
    for name in named {
        assert!(here.contains(&format!("#[test]\nfn {name}()")), "{name} is no test");
    }
}
