//! Problems that contradict themselves, and where the complaint points.

use super::farm::{at, farm, head, on, order, stands};
use gambrel::trade::plan::{Problem, SheetDifference, Sides, check, plan};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::weight::Weight;

fn complaint(problem: &Problem) -> String {
    let unfit = check(problem).unwrap_err();
    assert!(!unfit.error.is_empty());
    assert_eq!(plan(problem, 10).unwrap_err(), unfit);
    unfit.at
}

fn good() -> Problem {
    farm(vec![head("A", 4), head("B", 18)], vec![order("R", Size::Half, 1), order("S", Size::Quarter, 2)])
}

#[test]
fn a_lock_needs_its_species_its_side_and_its_room() {
    let locked = |size, sides| {
        let mut problem = good();
        problem.orders[0] = stands(order("R", size, 1), 0, sides, true);
        problem
    };
    assert_eq!(check(&locked(Size::Half, Sides::Left)), Ok(()));
    for (size, sides) in [(Size::Half, Sides::Both), (Size::Whole, Sides::Left), (Size::Quarter, Sides::Both)] {
        assert_eq!(complaint(&locked(size, sides)), "reservations[0].current");
    }
    let mut other = locked(Size::Half, Sides::Left);
    other.heads[0].species = Species::Hog;
    assert_eq!(complaint(&other), "reservations[0].current");
    let mut full = locked(Size::Half, Sides::Left);
    full.heads[0].taken = [1, 0];
    assert_eq!(complaint(&full), "reservations[0].current");
    let mut two = locked(Size::Half, Sides::Left);
    two.orders[1] = stands(order("S", Size::Quarter, 2), 0, Sides::Left, true);
    assert_eq!(complaint(&two), "reservations[1].current");
}

#[test]
fn what_only_stands_where_it_cannot_stay_is_moved_and_not_refused() {
    let mut problem = good();
    problem.orders[0] = stands(order("R", Size::Half, 1), 0, Sides::Both, false);
    let made = plan(&problem, 100).unwrap();
    assert_eq!((made.places[0], made.score.moved), (at(0, Sides::Left), 1));
}

#[test]
fn nothing_is_given_twice() {
    let mut problem = good();
    problem.heads[1].id = "A".to_string();
    assert_eq!(complaint(&problem), "animals[1].id");
    let mut problem = good();
    problem.orders[1].id = "R".to_string();
    assert_eq!(complaint(&problem), "reservations[1].id");
    let mut problem = good();
    problem.orders[0] = on(order("R", Size::Half, 1), &[4, 18, 4]);
    assert_eq!(complaint(&problem), "reservations[0].dates[2]");
    let mut problem = good();
    let pair = |a, b| SheetDifference { a, b, blocks: 1 };
    problem.sheet_differences = vec![pair(0, 1), pair(1, 0)];
    assert_eq!(complaint(&problem), "sheet_differences[1]");
    problem.sheet_differences = vec![pair(1, 1)];
    assert_eq!(complaint(&problem), "sheet_differences[0]");
}

#[test]
fn figures_have_their_ranges() {
    let mut problem = good();
    problem.open_custom_from = 5;
    assert_eq!(complaint(&problem), "open_custom_from");
    problem.open_custom_from = 0;
    assert_eq!(complaint(&problem), "open_custom_from");
    let mut problem = good();
    problem.heads[1].taken = [0, 3];
    assert_eq!(complaint(&problem), "animals[1].taken");
    let mut problem = good();
    let weight = |n| Some(Weight::from_hundredths(n));
    problem.orders[0].asked = (weight(2), weight(1));
    assert_eq!(complaint(&problem), "reservations[0].weight");
    let mut problem = good();
    problem.orders[0] = stands(order("R", Size::Half, 1), 2, Sides::Left, false);
    assert_eq!(complaint(&problem), "reservations[0].current.animal");
    let mut problem = good();
    problem.sheet_differences = vec![SheetDifference { a: 0, b: 2, blocks: 1 }];
    assert_eq!(complaint(&problem), "sheet_differences[0]");
}
