//! Days and months as people type them, in forms and in files.

use super::clean::quoted;
use chrono::{Datelike, NaiveDate};
use std::ops::RangeInclusive;

/// Years a farm's book may speak of.
const YEARS: RangeInclusive<i32> = 2000..=2099;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// Why a day could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadDay {
    /// Neither figures nor a month's name where they should be.
    NotADay,
    /// Two figures for a year.
    ShortYear,
    /// February 30.
    NotInCalendar,
    /// Before 2000 or after 2099.
    OutOfRange,
}

/// A day, or a month of which the day is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayOrMonth {
    /// The day.
    Day(NaiveDate),
    /// The first day of the month.
    Month(NaiveDate),
}

/// "oct", "Oct", "october": a month by three letters or more.
fn month(word: &str) -> Option<u32> {
    let word = word.to_lowercase();
    let place = MONTHS.iter().position(|month| word.len() >= 3 && month.starts_with(&word))?;
    u32::try_from(place + 1).ok()
}

pub(crate) fn number(word: &str, digits: RangeInclusive<usize>) -> Option<u32> {
    let fits = digits.contains(&word.len()) && word.bytes().all(|b| b.is_ascii_digit());
    fits.then(|| word.parse().ok()).flatten()
}

/// A day of the month: "14", "14th".
fn day(word: &str) -> Option<u32> {
    let bare = ["st", "nd", "rd", "th"].iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
    number(bare, 1..=2)
}

fn year(word: &str) -> Result<u32, BadDay> {
    match number(word, 4..=4) {
        Some(year) => Ok(year),
        None if number(word.trim_start_matches('\''), 2..=2).is_some() => Err(BadDay::ShortYear),
        None => Err(BadDay::NotADay),
    }
}

fn calendar(year: u32, month: u32, day: u32) -> Result<NaiveDate, BadDay> {
    let year = i32::try_from(year).map_err(|_| BadDay::OutOfRange)?;
    let date = NaiveDate::from_ymd_opt(year, month, day).ok_or(BadDay::NotInCalendar)?;
    if YEARS.contains(&date.year()) { Ok(date) } else { Err(BadDay::OutOfRange) }
}

/// The parts of a day between the signs and blanks people put there.
pub fn parts(text: &str) -> Vec<&str> {
    text.split([' ', ',', '.', '/', '-']).filter(|part| !part.is_empty()).collect()
}

/// `2027-10-14`, `10/14/2027`, `Oct 14 2027`, `14 October 2027`. Month before day when both are figures, as Americans
/// write them.
///
/// # Errors
/// Why it is no day.
pub fn read_day(text: &str) -> Result<NaiveDate, BadDay> {
    let [a, b, c] = parts(text).try_into().map_err(|_| BadDay::NotADay)?;
    if let Some(y) = number(a, 4..=4) {
        let m = number(b, 1..=2).ok_or(BadDay::NotADay)?;
        return calendar(y, m, number(c, 1..=2).ok_or(BadDay::NotADay)?);
    }
    let (m, d) = match (month(a), month(b)) {
        (Some(m), None) => (m, day(b)),
        (None, Some(m)) => (m, day(a)),
        (None, None) => (number(a, 1..=2).ok_or(BadDay::NotADay)?, number(b, 1..=2)),
        (Some(_), Some(_)) => return Err(BadDay::NotADay),
    };
    calendar(year(c)?, m, d.ok_or(BadDay::NotADay)?)
}

/// `2026-04`, `4/2026`, `Apr 2026`: the first day of the month.
///
/// # Errors
/// Why it is no month.
pub fn read_month(text: &str) -> Result<NaiveDate, BadDay> {
    let [a, b] = parts(text).try_into().map_err(|_| BadDay::NotADay)?;
    match (month(a).or_else(|| number(a, 1..=2)), number(a, 4..=4)) {
        (Some(m), _) => calendar(year(b)?, m, 1),
        (None, Some(y)) => calendar(y, number(b, 1..=2).ok_or(BadDay::NotADay)?, 1),
        (None, None) => Err(BadDay::NotADay),
    }
}

impl BadDay {
    /// What is wrong and what to do, in one sentence or two, with what was typed.
    pub fn sentence(self, typed: &str) -> String {
        let shown = quoted(typed);
        match self {
            Self::NotADay => format!("{shown} is not a date. Write it like 2027-10-14 or 10/14/2027."),
            Self::ShortYear => {
                format!("{shown} has a short year. Write the year with four figures, such as 2027.")
            }
            Self::NotInCalendar => {
                format!("{shown} is not in the calendar. Write month, day and year, such as 10/14/2027.")
            }
            Self::OutOfRange => {
                format!("{shown} is too far away. The year must be from {} to {}.", YEARS.start(), YEARS.end())
            }
        }
    }
}

/// A day, or a month such as "Apr 2026".
///
/// # Errors
/// Why it is neither.
pub fn read_day_or_month(text: &str) -> Result<DayOrMonth, BadDay> {
    if parts(text).len() == 2 { read_month(text).map(DayOrMonth::Month) } else { read_day(text).map(DayOrMonth::Day) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_americans_write_them() {
        let wanted = NaiveDate::from_ymd_opt(2027, 10, 4);
        for text in [
            "2027-10-04",
            "2027-10-4",
            "10/4/2027",
            "10/04/2027",
            "Oct 4 2027",
            "October 4, 2027",
            "oct. 4th, 2027",
            "4 Oct 2027",
            "10-4-2027",
        ] {
            assert_eq!(read_day(text).ok(), wanted, "{text}");
        }
        assert_eq!(read_day("2/29/2028").ok(), NaiveDate::from_ymd_opt(2028, 2, 29));
        for (text, why) in [
            ("10/4/27", BadDay::ShortYear),
            ("Oct 4 '27", BadDay::ShortYear),
            ("2/29/2027", BadDay::NotInCalendar),
            ("14/10/2027", BadDay::NotInCalendar),
            ("1999-12-31", BadDay::OutOfRange),
            ("10/4/2100", BadDay::OutOfRange),
            ("Oct 4", BadDay::NotADay),
            ("tomorrow", BadDay::NotADay),
            ("Oct Oct 2027", BadDay::NotADay),
            ("2027-Oct-04-1", BadDay::NotADay),
            ("1O/4/2027", BadDay::NotADay),
            ("ma 4 2027", BadDay::NotADay),
        ] {
            assert_eq!(read_day(text), Err(why), "{text}");
        }
    }

    #[test]
    fn months_are_read_without_a_day() {
        let wanted = NaiveDate::from_ymd_opt(2026, 4, 1);
        for text in ["2026-04", "4/2026", "Apr 2026", "April 2026"] {
            assert_eq!(read_month(text).ok(), wanted, "{text}");
        }
        assert_eq!(read_month("13/2026"), Err(BadDay::NotInCalendar));
        assert_eq!(read_month("Apr 26"), Err(BadDay::ShortYear));
    }
}
