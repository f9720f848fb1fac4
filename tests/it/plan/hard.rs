//! Every hard rule on its own: each is asked of made-up plans here in words of its own, and each breach is found by `broken`.

use super::farm::{at, day, farm, head, on, order, solve, stands};
use super::made_up::{Dice, Kind, problem};
use gambrel::trade::plan::{Problem, Sides, Spot, broken, plan};
use gambrel::trade::share::{Size, Species};
use proptest::prelude::*;

/// A farm where every rule bites: few dates, many withdrawals, locks, taken quarters and custom-exempt plants.
fn tight() -> impl Strategy<Value = Problem> {
    (1_usize..=10, 1_usize..=30, 1_usize..=3, 1_usize..=4, any::<u64>()).prop_map(
        |(heads, orders, species, dates, seed)| {
            let kind = Kind {
                heads,
                orders,
                species,
                dates,
                custom: 70,
                taken: 40,
                barred: 30,
                grouped: 30,
                ranged: 30,
                standing: 60,
                locked: 40,
                any_date: 20,
                paid: 50,
                pairs: 30,
                plants: false,
            };
            problem(kind, &mut Dice(seed))
        },
    )
}

/// Everyone who is placed: the place in the list, and the spot.
fn placed(problem: &Problem) -> Vec<(usize, Spot)> {
    let made = plan(problem, 30).unwrap();
    made.places.iter().enumerate().filter_map(|(i, place)| Some((i, (*place)?))).collect()
}

fn locked(problem: &Problem, i: usize) -> bool {
    problem.orders[i].current.is_some_and(|now| now.locked)
}

/// Quarters on the left and the right of one share.
fn takes(size: Size, sides: Sides) -> [u8; 2] {
    match (size, sides) {
        (Size::Whole, _) => [2, 2],
        (Size::Half, Sides::Left) => [2, 0],
        (Size::Half, _) => [0, 2],
        (Size::Quarter, Sides::Left) => [1, 0],
        (Size::Quarter, _) => [0, 1],
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn locks_stay(problem in tight()) {
        let made = plan(&problem, 30).unwrap();
        for (order, place) in problem.orders.iter().zip(&made.places) {
            if let Some(now) = order.current.filter(|now| now.locked) {
                prop_assert_eq!(*place, Some(now.spot), "{}", order.id);
            }
        }
    }

    #[test]
    fn a_share_is_of_its_species_on_a_date_it_accepts_after_the_withdrawal(problem in tight()) {
        for (i, spot) in placed(&problem) {
            let (order, head) = (&problem.orders[i], &problem.heads[spot.head]);
            prop_assert_eq!(order.species, head.species);
            if !locked(&problem, i) {
                prop_assert!(order.dates.is_empty() || order.dates.contains(&head.date), "{} on {}", order.id, head.date);
                prop_assert!(head.not_before.is_none_or(|first| head.date >= first), "{} on {}", order.id, head.id);
            }
        }
    }

    #[test]
    fn a_whole_is_both_sides_and_no_side_carries_more_than_two_quarters(problem in tight()) {
        let mut on: Vec<[u8; 2]> = problem.heads.iter().map(|h| h.taken).collect();
        for (i, spot) in placed(&problem) {
            let size = problem.orders[i].size;
            prop_assert_eq!(size == Size::Whole, spot.sides == Sides::Both);
            let [left, right] = takes(size, spot.sides);
            on[spot.head] = [on[spot.head][0] + left, on[spot.head][1] + right];
        }
        prop_assert!(on.iter().flatten().all(|side| *side <= 2), "{:?}", on);
    }

    #[test]
    fn a_custom_head_that_does_not_stand_is_opened_for_enough_quarters_or_not_at_all(problem in tight()) {
        let mut on = vec![0; problem.heads.len()];
        for (i, spot) in placed(&problem) {
            on[spot.head] += takes(problem.orders[i].size, spot.sides).iter().sum::<u8>();
        }
        for (i, head) in problem.heads.iter().enumerate() {
            let stands = head.taken != [0, 0]
                || problem.orders.iter().any(|o| o.current.is_some_and(|now| now.spot.head == i));
            if head.custom_exempt && !stands {
                prop_assert!(on[i] == 0 || on[i] >= problem.open_custom_from, "{} carries {}", head.id, on[i]);
            }
        }
    }
}

#[test]
fn each_breach_is_named() {
    let base = || farm(vec![head("A", 4), head("B", 18)], vec![order("R", Size::Half, 1)]);
    let says = |problem: &Problem, spot: Option<Spot>| broken(problem, &[spot]);
    assert_eq!(says(&base(), at(0, Sides::Left)), Vec::<String>::new());
    assert_eq!(says(&base(), None), Vec::<String>::new());
    assert_eq!(says(&base(), at(0, Sides::Both)), ["R cannot hang so"]);
    assert_eq!(says(&base(), at(2, Sides::Left)), ["R is on no animal"]);

    let mut other = base();
    other.orders[0].species = Species::Hog;
    assert_eq!(says(&other, at(0, Sides::Left)), ["R is on another species"]);

    let mut dated = base();
    dated.orders[0] = on(dated.orders[0].clone(), &[18]);
    assert_eq!(says(&dated, at(0, Sides::Left)), ["R is on a date it does not accept"]);

    let mut barred = base();
    barred.heads[0].not_before = Some(day(5));
    assert_eq!(says(&barred, at(0, Sides::Left)), ["R is on an animal before its withdrawal ends"]);

    let mut taken = base();
    taken.heads[0].taken = [1, 0];
    assert_eq!(says(&taken, at(0, Sides::Left)), ["A carries more than it has"]);

    let mut few = base();
    few.open_custom_from = 3;
    assert_eq!(says(&few, at(0, Sides::Left)), ["A is opened for too few quarters"]);

    let mut lock = base();
    lock.orders[0] = stands(lock.orders[0].clone(), 1, Sides::Right, true);
    assert_eq!(says(&lock, at(0, Sides::Left)), ["R is locked and was moved"]);
    assert_eq!(says(&lock, None), ["R is locked and was moved"]);
}

#[test]
fn two_shares_never_sit_on_one_place() {
    let orders = vec![order("a", Size::Half, 1), order("b", Size::Half, 2)];
    let problem = farm(vec![head("A", 4)], orders);
    assert_eq!(broken(&problem, &[at(0, Sides::Left), at(0, Sides::Left)]), ["A carries more than it has"]);
    assert_eq!(solve(&problem).places, [at(0, Sides::Left), at(0, Sides::Right)]);
}
