//! Handing meat over: windows, until when they are chosen, and what storage costs after the days agreed on.

use super::dates;
use super::money::{Money, Overflow};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use rust_decimal::Decimal;

crate::words! {
    /// What storage is charged for.
    pub enum StoragePer {
        /// Each day begun after the free ones.
        Day = "day", "day";
        /// Each week begun after the free days.
        Week = "week", "week";
    }
}

/// What keeping meat costs that nobody collects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Storage {
    /// Days after the one on which the meat was said to be ready that cost nothing, 0 and up.
    pub free_days: i64,
    /// What is charged for after that; none when nothing is.
    pub per: Option<StoragePer>,
    /// How much for each, for an order.
    pub amount: Money,
}

impl Storage {
    /// The last day that costs nothing.
    pub fn free_through(&self, ready_on: NaiveDate) -> NaiveDate {
        ready_on.checked_add_signed(TimeDelta::days(self.free_days)).unwrap_or(NaiveDate::MAX)
    }

    /// Days or weeks begun after the free days, through a day; 0 when nothing is charged.
    pub fn begun(&self, ready_on: NaiveDate, through: NaiveDate) -> i64 {
        let late = through.signed_duration_since(self.free_through(ready_on)).num_days().max(0);
        match self.per {
            None => 0,
            Some(StoragePer::Day) => late,
            Some(StoragePer::Week) => late.saturating_add(6) / 7,
        }
    }

    /// What it comes to through a day.
    ///
    /// # Errors
    /// [`Overflow`] when it is more than can be recorded.
    pub fn due(&self, ready_on: NaiveDate, through: NaiveDate) -> Result<Money, Overflow> {
        Money::rounded(self.amount.decimal() * Decimal::from(self.begun(ready_on, through)))
    }

    /// The rule as a sentence; empty when nothing is charged. With the day the meat was ready it names the last free day.
    pub fn words(&self, ready_on: Option<NaiveDate>) -> String {
        let Some(per) = self.per.filter(|_| self.amount.is_positive()) else { return String::new() };
        let free = match (self.free_days, ready_on) {
            (_, Some(day)) => format!("Storage costs nothing through {}.", dates::full(self.free_through(day))),
            (0, None) => "Storage is free on the day we say it is ready.".to_string(),
            (1, None) => "Storage is free for one day after we say it is ready.".to_string(),
            (n, None) => format!("Storage is free for {n} days after we say it is ready."),
        };
        format!("{free} After that it is {} for each {} begun.", self.amount.dollars(), per.label())
    }
}

/// A time of day as windows keep it, `16:30`.
pub fn read_time(text: &str) -> Option<NaiveTime> {
    NaiveTime::parse_from_str(text, "%H:%M").ok()
}

/// `9:00 am to 1:00 pm`; what cannot be read is said as it stands.
pub fn hours(opens: &str, closes: &str) -> String {
    let say = |text: &str| read_time(text).map_or_else(|| text.to_string(), dates::hour);
    format!("{} to {}", say(opens), say(closes))
}

/// When the farm's clock shows the beginning of a window.
pub fn begins(on_day: NaiveDate, opens: &str) -> NaiveDateTime {
    on_day.and_time(read_time(opens).unwrap_or(NaiveTime::MIN))
}

/// How many places are left in a window for `most` customers when `taken` come.
pub const fn left(most: i64, taken: i64) -> i64 {
    if most > taken { most - taken } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }
    fn rule(free_days: i64, per: StoragePer) -> Storage {
        Storage { free_days, per: Some(per), amount: Money::from_cents(250) }
    }

    #[test]
    fn storage_begins_the_day_after_the_free_ones() {
        let s = rule(14, StoragePer::Day);
        let ready = day("2027-10-14");
        assert_eq!(s.free_through(ready), day("2027-10-28"));
        for (through, cents) in [("2027-10-14", 0), ("2027-10-28", 0), ("2027-10-29", 250), ("2027-11-01", 1_000)] {
            assert_eq!(s.due(ready, day(through)).unwrap().cents(), cents, "{through}");
        }
        let s = rule(14, StoragePer::Week);
        for (through, cents) in [("2027-10-28", 0), ("2027-10-29", 250), ("2027-11-04", 250), ("2027-11-05", 500)] {
            assert_eq!(s.due(ready, day(through)).unwrap().cents(), cents, "{through}");
        }
        let off = Storage { per: None, ..s };
        assert_eq!((off.due(ready, day("2028-10-14")).unwrap(), off.words(None).as_str()), (Money::ZERO, ""));
    }

    #[test]
    fn the_rule_is_said_with_its_day() {
        let s = rule(14, StoragePer::Day);
        assert_eq!(
            s.words(Some(day("2027-10-14"))),
            "Storage costs nothing through October 28, 2027. After that it is $2.50 for each day begun."
        );
        assert_eq!(
            rule(1, StoragePer::Week).words(None),
            "Storage is free for one day after we say it is ready. After that it is $2.50 for each week begun."
        );
    }

    #[test]
    fn hours_read_as_people_say_them() {
        assert_eq!(hours("09:00", "13:30"), "9:00 am to 1:30 pm");
        assert_eq!(begins(day("2027-10-14"), "16:30").to_string(), "2027-10-14 16:30:00");
        assert_eq!((left(3, 1), left(3, 3), left(3, 5)), (2, 0, 0));
    }

    proptest! {
        /// A day more never costs less, a week's charge never begins more often than a day's, and a free day never costs.
        #[test]
        fn storage_only_grows(free in 0_i64..60, through in 0_i64..400, cents in 1_i64..10_000) {
            let ready = day("2027-10-14");
            let at = |days: i64| ready + TimeDelta::days(days);
            for per in [StoragePer::Day, StoragePer::Week] {
                let s = Storage { free_days: free, per: Some(per), amount: Money::from_cents(cents) };
                let now = s.due(ready, at(through)).unwrap();
                prop_assert!(s.due(ready, at(through + 1)).unwrap() >= now);
                prop_assert_eq!(now.is_zero(), through <= free);
                prop_assert!(s.begun(ready, at(through)) <= rule(free, StoragePer::Day).begun(ready, at(through)));
            }
        }
    }
}
