//! A short way to write small problems down.

use chrono::NaiveDate;
use gambrel::trade::plan::{Head, Order, Plan, Problem, Sides, Spot, Standing, plan};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::weight::Weight;

pub fn day(n: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 10, n).unwrap()
}

pub fn head(id: &str, date: u32) -> Head {
    Head {
        id: id.to_string(),
        species: Species::Beef,
        date: day(date),
        processor: "P1".to_string(),
        custom_exempt: true,
        not_before: None,
        hanging: Some(Weight::from_hundredths(72_000)),
        taken: [0, 0],
    }
}

/// Taken in the order of `taken_at`, deposit paid, any date.
pub fn order(id: &str, size: Size, taken_at: i64) -> Order {
    Order {
        id: id.to_string(),
        species: Species::Beef,
        size,
        taken_at,
        deposit_paid: true,
        dates: Vec::new(),
        together: None,
        asked: (None, None),
        current: None,
    }
}

pub fn on(mut order: Order, dates: &[u32]) -> Order {
    order.dates = dates.iter().map(|d| day(*d)).collect();
    order
}

pub fn stands(mut order: Order, head: usize, sides: Sides, locked: bool) -> Order {
    order.current = Some(Standing { spot: Spot { head, sides }, locked });
    order
}

pub fn farm(heads: Vec<Head>, orders: Vec<Order>) -> Problem {
    Problem { heads, orders, sheet_differences: Vec::new(), keep: true, open_custom_from: 1 }
}

pub fn solve(problem: &Problem) -> Plan {
    let made = plan(problem, 2000).unwrap();
    assert_eq!(made.bound, None);
    made
}

pub fn at(head: usize, sides: Sides) -> Option<Spot> {
    Some(Spot { head, sides })
}
