//! Reasons: what they say is so in the plan.

use super::farm::{day, farm, head, on, order, solve, stands};
use gambrel::trade::plan::{Problem, Sides, reasons};
use gambrel::trade::share::Size;

fn said(problem: &Problem) -> Vec<String> {
    reasons(problem, &solve(problem)).orders
}

#[test]
fn who_is_left_out_hears_what_would_have_to_change() {
    let orders = vec![on(order("a", Size::Whole, 1), &[4]), on(order("late", Size::Half, 2), &[4])];
    let mut problem = farm(vec![head("A", 4), head("B", 18)], orders);
    problem.heads[1].taken = [2, 0];
    assert_eq!(said(&problem)[1], "No beef head is free on its dates; 2 quarters are free on October 18, 2027.");
    problem.orders[1].dates = vec![day(25)];
    assert_eq!(said(&problem)[1], "No beef head is processed on its dates; 2 quarters are free on October 18, 2027.");
    problem.heads[1].not_before = Some(day(20));
    problem.orders[1].dates = vec![day(18)];
    assert_eq!(said(&problem)[1], "No beef head is free on its dates; a drug withdrawal keeps it off B.");
    problem.heads.truncate(0);
    assert_eq!(said(&problem)[1], "There is no beef head with a date. It needs one.");
}

#[test]
fn too_few_quarters_are_named() {
    let mut problem = farm(vec![head("A", 4)], vec![order("a", Size::Quarter, 1)]);
    problem.open_custom_from = 2;
    assert_eq!(
        said(&problem)[0],
        "A is free, but a head for a custom-exempt plant is opened from 2 quarters on, and it takes 1."
    );
}

#[test]
fn who_is_not_on_the_first_choice_hears_why() {
    let orders = vec![
        stands(order("lock", Size::Whole, 1), 0, Sides::Both, true),
        on(order("second", Size::Half, 2), &[4, 18]),
        on(order("never", Size::Half, 3), &[11, 18]),
    ];
    let problem = farm(vec![head("A", 4), head("B", 18)], orders);
    let said = said(&problem);
    assert_eq!(said[0], "It is locked on A for October 4, 2027.");
    let second = "October 18, 2027 is number 2 of the dates it accepts, and B has room";
    let full = "on October 4, 2027 there is no room for a half beside shares that count more";
    assert_eq!(said[1], format!("{second}; {full}."));
    assert_eq!(said[2], format!("{second}; no beef can be had on October 11, 2027."));
}

#[test]
fn what_is_dearer_elsewhere_is_said() {
    let orders = vec![order("a", Size::Half, 1), on(order("b", Size::Half, 2), &[18, 4])];
    let mut problem = farm(vec![head("A", 4), head("B", 18)], orders);
    problem.orders[0].dates = vec![day(4)];
    let said = said(&problem);
    assert_eq!(
        said[1],
        "October 4, 2027 is number 2 of the dates it accepts, and A has room; on October 18, 2027 it would cost more than \
         it gains (unsold quarters at custom-exempt plants)."
    );
}

#[test]
fn part_sold_animals_say_what_is_missing_and_until_when() {
    let problem = farm(vec![head("A", 4)], vec![order("a", Size::Half, 1), order("b", Size::Quarter, 2)]);
    let list = reasons(&problem, &solve(&problem)).part_sold;
    assert_eq!((list.len(), list[0].head, list[0].free, list[0].until), (1, 0, [0, 1], day(4)));
    assert!(
        list[0].says.starts_with("1 quarter is missing on A until October 4, 2027; its processor is custom-exempt")
    );
}
