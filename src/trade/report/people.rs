//! Customers who came back: who ordered in a period, and who of them had ordered before.

use super::period::Period;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// An order that was not cancelled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ordered {
    /// The customer.
    pub customer: i64,
    /// The day it was taken.
    pub day: NaiveDate,
    /// Its season.
    pub season: String,
}

/// Orders of one customer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Person {
    /// Orders in the period.
    pub now: i64,
    /// Orders outside it that were taken before the first one in it.
    pub before: i64,
    /// The day of the customer's first order of all.
    pub since: NaiveDate,
}

impl Person {
    /// Whether they had ordered before.
    pub const fn came_back(&self) -> bool {
        self.before > 0
    }
}

/// Everybody who ordered in the period.
pub fn people(orders: &[Ordered], period: &Period) -> BTreeMap<i64, Person> {
    let is_in = |o: &&Ordered| period.holds(o.day, &o.season);
    let mut first_in: BTreeMap<i64, NaiveDate> = BTreeMap::new();
    for o in orders.iter().filter(is_in) {
        first_in.entry(o.customer).and_modify(|d| *d = o.day.min(*d)).or_insert(o.day);
    }
    let mut all: BTreeMap<i64, Person> = BTreeMap::new();
    for o in orders {
        let Some(first) = first_in.get(&o.customer) else { continue };
        let one = all.entry(o.customer).or_insert(Person { now: 0, before: 0, since: o.day });
        one.since = one.since.min(o.day);
        if is_in(&o) {
            one.now = one.now.saturating_add(1);
        } else if o.day < *first {
            one.before = one.before.saturating_add(1);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_ordered_before_came_back() {
        let one =
            |customer, day: &str, season: &str| Ordered { customer, day: day.parse().unwrap(), season: season.into() };
        let orders = [
            one(1, "2026-03-01", "Fall 2026"),
            one(1, "2027-03-01", "Fall 2027"),
            one(1, "2027-04-01", "Fall 2027"),
            one(2, "2027-03-01", "Fall 2027"),
            one(3, "2026-12-01", "Fall 2027"),
            one(3, "2028-01-01", "Fall 2028"),
            one(4, "2026-05-01", "Fall 2026"),
        ];
        let fall = people(&orders, &Period::Season("Fall 2027".into()));
        let said: Vec<_> = fall.iter().map(|(id, p)| (*id, p.now, p.before, p.came_back())).collect();
        assert_eq!(
            said,
            [(1, 2, 1, true), (2, 1, 0, false), (3, 1, 0, false)],
            "an order that came later is no return"
        );
        let year = people(&orders, &Period::Year(2027));
        let said: Vec<_> = year.iter().map(|(id, p)| (*id, p.now, p.before)).collect();
        assert_eq!(said, [(1, 2, 1), (2, 1, 0)]);
        assert_eq!(year.get(&1).unwrap().since.to_string(), "2026-03-01");
    }
}
