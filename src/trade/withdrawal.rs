//! How long an animal that had a drug must wait before slaughter.
//!
//! Counted in whole days of 24 hours from the last dose (industry quality-assurance rule, from memory; the label's number of
//! days must be obeyed). Where the hour of the last dose is not known it is taken to be the end of that day, and a kill date
//! without an hour is judged at its beginning: both err on the safe side. An animal must not be slaughtered inside the
//! period (21 CFR 530.20 for extra-label use: the veterinarian sets a longer one).

use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime};

/// Shown wherever a withdrawal date is shown.
pub const CAUTION: &str = "The date comes from the number of days as you entered it. Go by the product’s label; where the drug was used \
in another way than the label says, only the veterinarian can set the period. When in doubt ask your veterinarian.";

/// The longest withdrawal period that can be entered, in days.
pub const LONGEST_DAYS: u64 = 1000;

/// A period too long or a date too late to reckon with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("The withdrawal period cannot be reckoned. Give a day and at most 1,000 days")]
pub struct BadPeriod;

/// Reads an hour as `HH:MM`, or nothing when it is blank.
///
/// # Errors
/// A sentence when it is neither.
pub fn read_time(text: &str) -> Result<Option<NaiveTime>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let shown: String = text.chars().take(40).collect();
    let well_formed = text.len() == 5 && text.as_bytes().get(2) == Some(&b':');
    NaiveTime::parse_from_str(text, "%H:%M")
        .ok()
        .filter(|_| well_formed)
        .map(Some)
        .ok_or_else(|| format!("“{shown}” is not an hour. Write it like 08:30, or leave it blank"))
}

/// When the period ends: that many times 24 hours after the last dose, or after the end of its day when the hour is unknown.
///
/// # Errors
/// [`BadPeriod`] when it is longer than [`LONGEST_DAYS`] or leaves the calendar.
pub fn ends(last_dose_on: NaiveDate, at: Option<NaiveTime>, days: u64) -> Result<NaiveDateTime, BadPeriod> {
    if days > LONGEST_DAYS {
        return Err(BadPeriod);
    }
    let counted_from = match at {
        Some(time) => last_dose_on.and_time(time),
        None => last_dose_on.checked_add_days(Days::new(1)).ok_or(BadPeriod)?.and_time(NaiveTime::MIN),
    };
    counted_from.checked_add_days(Days::new(days)).ok_or(BadPeriod)
}

/// Whether an animal may be killed at that hour.
pub fn may_kill_at(ends: NaiveDateTime, kill: NaiveDateTime) -> bool {
    kill >= ends
}

/// The first day on which an animal may be killed at any hour: the day after the end, or the day that begins with it.
///
/// # Errors
/// [`BadPeriod`] at the end of the calendar.
pub fn earliest_kill_day(ends: NaiveDateTime) -> Result<NaiveDate, BadPeriod> {
    if ends.time() == NaiveTime::MIN { Ok(ends.date()) } else { ends.date().succ_opt().ok_or(BadPeriod) }
}

/// Whether an animal may be killed on that day, whatever the hour.
pub fn may_kill_on(ends: NaiveDateTime, day: NaiveDate) -> bool {
    may_kill_at(ends, day.and_time(NaiveTime::MIN))
}

/// The latest end among several treatments, `None` when there was none.
pub fn latest(ends: impl IntoIterator<Item = NaiveDateTime>) -> Option<NaiveDateTime> {
    ends.into_iter().max()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn without_an_hour_the_count_begins_at_the_end_of_the_day() {
        let end = ends(day("2027-08-03"), None, 28).unwrap();
        assert_eq!(end, day("2027-09-01").and_time(NaiveTime::MIN));
        assert_eq!(earliest_kill_day(end), Ok(day("2027-09-01")));
        assert!(!may_kill_on(end, day("2027-08-31")) && may_kill_on(end, day("2027-09-01")));
    }

    #[test]
    fn with_an_hour_the_last_day_counts_only_when_it_is_over() {
        let end = ends(day("2027-08-03"), read_time("08:00").unwrap(), 28).unwrap();
        assert_eq!(earliest_kill_day(end), Ok(day("2027-09-01")));
        assert!(!may_kill_on(end, day("2027-08-31")));
        assert!(may_kill_at(end, day("2027-08-31").and_hms_opt(8, 0, 0).unwrap()));
        let at_midnight = ends(day("2027-08-03"), read_time("00:00").unwrap(), 28).unwrap();
        assert_eq!(earliest_kill_day(at_midnight), Ok(day("2027-08-31")));
    }

    #[test]
    fn hours_are_read_strictly() {
        assert_eq!(read_time(" "), Ok(None));
        assert_eq!(read_time("23:59").unwrap(), NaiveTime::from_hms_opt(23, 59, 0));
        for bad in ["24:00", "8:00", "08:60", "0800", "08:00:00", "é8:00"] {
            assert!(read_time(bad).is_err(), "{bad}");
        }
        assert_eq!(ends(day("2027-08-03"), None, 1001), Err(BadPeriod));
        assert_eq!(ends(NaiveDate::MAX, None, 1), Err(BadPeriod));
    }

    proptest! {
        #[test]
        fn the_earliest_day_is_the_first_that_may(dose in 0_u64..20_000, days in 0_u64..=1000, minute in prop::option::of(0_u32..1440)) {
            let dose = day("2000-01-01") + Days::new(dose);
            let at = minute.map(|m| NaiveTime::from_hms_opt(m / 60, m % 60, 0).unwrap());
            let end = ends(dose, at, days).unwrap();
            let first = earliest_kill_day(end).unwrap();
            prop_assert!(may_kill_on(end, first));
            prop_assert!(!may_kill_on(end, first.pred_opt().unwrap()));
        }
    }
}
