//! The time a report is about: a calendar year, or a season of what was for sale.

use chrono::{Datelike, Days, NaiveDate};

/// Years that can be asked for.
const YEARS: std::ops::Range<i32> = 1900..2200;
/// The longest name of a season, in characters.
const LONGEST: usize = 120;
/// Months a table has at most: forty years.
const MOST_MONTHS: usize = 480;
/// What stands before a season's name in an address, so that a season called "2027" is not taken for the year.
const SEASON: &str = "season:";

/// A year, or a season by its name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Period {
    /// From January 1 to December 31.
    Year(i32),
    /// Everything of the orders of a season, whenever it was.
    Season(String),
}

impl Period {
    /// Reads "2027" or "season:Fall 2027".
    pub fn read(text: &str) -> Option<Self> {
        match text.strip_prefix(SEASON) {
            Some(name) if !name.trim().is_empty() && name.chars().count() <= LONGEST => {
                Some(Self::Season(name.to_string()))
            }
            Some(_) => None,
            None => text.parse().ok().filter(|y| YEARS.contains(y)).map(Self::Year),
        }
    }
    /// The text that [`Self::read`] reads.
    pub fn value(&self) -> String {
        match self {
            Self::Year(year) => year.to_string(),
            Self::Season(name) => format!("{SEASON}{name}"),
        }
    }
    /// As people read it.
    pub fn label(&self) -> String {
        match self {
            Self::Year(year) => year.to_string(),
            Self::Season(name) => name.clone(),
        }
    }
    /// The first and last day of a year; `None` for a season, which has none.
    pub fn days(&self) -> Option<(NaiveDate, NaiveDate)> {
        match self {
            Self::Year(year) => Some((NaiveDate::from_ymd_opt(*year, 1, 1)?, NaiveDate::from_ymd_opt(*year, 12, 31)?)),
            Self::Season(_) => None,
        }
    }
    /// Whether something of that day and season belongs to it.
    pub fn holds(&self, day: NaiveDate, season: &str) -> bool {
        match self {
            Self::Year(year) => day.year() == *year,
            Self::Season(name) => name == season,
        }
    }
}

/// A month, or the part of it that counts: its first and last day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Month {
    /// The first day that counts.
    pub first: NaiveDate,
    /// The last day that counts.
    pub last: NaiveDate,
}

impl Month {
    /// Whether a day lies in it.
    pub fn holds(&self, day: NaiveDate) -> bool {
        (self.first..=self.last).contains(&day)
    }
    /// "March", or with the year "March 2027".
    pub fn label(&self, with_year: bool) -> String {
        self.first.format(if with_year { "%B %Y" } else { "%B" }).to_string()
    }
    /// "Mar".
    pub fn short(&self) -> String {
        self.first.format("%b").to_string()
    }
}

/// The months from one day to another, both counted; none when the last lies before the first.
pub fn months(first: NaiveDate, last: NaiveDate) -> Vec<Month> {
    let mut all = Vec::new();
    let mut from = first;
    while from <= last && all.len() < MOST_MONTHS {
        let next = from.with_day(1).and_then(|d| d.checked_add_months(chrono::Months::new(1)));
        let end = next.and_then(|d| d.checked_sub_days(Days::new(1))).map_or(last, |d| d.min(last));
        all.push(Month { first: from, last: end });
        let Some(next) = next else { break };
        from = next;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_period_reads_back_and_a_season_may_be_called_like_a_year() {
        for period in [Period::Year(2027), Period::Season("2027".into()), Period::Season("Fall & Spring: 1".into())] {
            assert_eq!(Period::read(&period.value()), Some(period));
        }
        for bad in ["", "27", "1899", "2200", "2027-01", "season:", "season:  ", "fall"] {
            assert_eq!(Period::read(bad), None, "{bad}");
        }
        assert_eq!(Period::read(&format!("season:{}", "x".repeat(LONGEST + 1))), None);
        assert!(Period::Year(2027).holds(day("2027-12-31"), "Fall 2026"));
        assert!(!Period::Year(2027).holds(day("2028-01-01"), "2027"));
        assert!(Period::Season("Fall 2026".into()).holds(day("2028-01-01"), "Fall 2026"));
    }

    #[test]
    fn months_are_whole_but_for_the_first_and_last() {
        let all = months(day("2027-11-15"), day("2028-02-10"));
        let ends: Vec<String> = all.iter().map(|m| format!("{} {}", m.first, m.last)).collect();
        assert_eq!(
            ends,
            ["2027-11-15 2027-11-30", "2027-12-01 2027-12-31", "2028-01-01 2028-01-31", "2028-02-01 2028-02-10"]
        );
        assert!(months(day("2027-02-02"), day("2027-02-01")).is_empty());
        assert_eq!(months(day("2027-01-01"), day("2027-12-31")).len(), 12);
    }

    proptest! {
        #[test]
        fn every_day_is_in_one_month(from in 0_u64..20_000, length in 0_u64..2_000, at in 0_u64..2_000) {
            let first = day("1990-01-01").checked_add_days(Days::new(from)).unwrap();
            let last = first.checked_add_days(Days::new(length)).unwrap();
            let one = first.checked_add_days(Days::new(at)).unwrap();
            let holding = months(first, last).iter().filter(|m| m.holds(one)).count();
            prop_assert_eq!(holding, usize::from(at <= length));
        }
    }
}
