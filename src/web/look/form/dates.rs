//! Days, months and times of day in a form.

use super::FormIn;
use super::clean::quoted;
use chrono::{Datelike, NaiveDate, NaiveTime};
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
enum BadDay {
    NotADay,
    ShortYear,
    NotInCalendar,
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

fn number(word: &str, digits: RangeInclusive<usize>) -> Option<u32> {
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
fn parts(text: &str) -> Vec<&str> {
    text.split([' ', ',', '.', '/', '-']).filter(|part| !part.is_empty()).collect()
}

/// `2027-10-14`, `10/14/2027`, `Oct 14 2027`, `14 October 2027`. Month before day when both are figures, as Americans
/// write them.
fn read_day(text: &str) -> Result<NaiveDate, BadDay> {
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
fn read_month(text: &str) -> Result<NaiveDate, BadDay> {
    let [a, b] = parts(text).try_into().map_err(|_| BadDay::NotADay)?;
    match (month(a).or_else(|| number(a, 1..=2)), number(a, 4..=4)) {
        (Some(m), _) => calendar(year(b)?, m, 1),
        (None, Some(y)) => calendar(y, number(b, 1..=2).ok_or(BadDay::NotADay)?, 1),
        (None, None) => Err(BadDay::NotADay),
    }
}

/// `16:30`, `4:30 pm`, `4 pm`.
fn read_time(text: &str) -> Option<NaiveTime> {
    let text = text.to_lowercase().replace([' ', '.'], "");
    let (clock, afternoon) = match (text.strip_suffix("am"), text.strip_suffix("pm")) {
        (Some(clock), _) => (clock, Some(false)),
        (_, Some(clock)) => (clock, Some(true)),
        _ => (text.as_str(), None),
    };
    let (hour, minute) = match clock.split_once(':') {
        Some((hour, minute)) => (number(hour, 1..=2)?, number(minute, 2..=2)?),
        None => (number(clock, 1..=2).filter(|_| afternoon.is_some())?, 0),
    };
    let hour = match afternoon {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(afternoon) => hour % 12 + if afternoon { 12 } else { 0 },
        None => hour,
    };
    NaiveTime::from_hms_opt(hour, minute, 0)
}

fn says(label: &str, typed: &str, why: BadDay) -> String {
    let shown = quoted(typed);
    match why {
        BadDay::NotADay => format!("{label}: {shown} is not a date. Write it like 2027-10-14 or 10/14/2027."),
        BadDay::ShortYear => {
            format!("{label}: {shown} has a short year. Write the year with four figures, such as 2027.")
        }
        BadDay::NotInCalendar => {
            format!("{label}: {shown} is not in the calendar. Write month, day and year, such as 10/14/2027.")
        }
        BadDay::OutOfRange => {
            format!("{label}: {shown} is too far away. The year must be from {} to {}.", YEARS.start(), YEARS.end())
        }
    }
}

impl FormIn {
    /// A day.
    pub fn date(&mut self, name: &str, label: &str) -> Option<NaiveDate> {
        let date = self.optional_date(name, label)?;
        if date.is_none() {
            self.problem(name, format!("{label} is empty. Write a date, such as 10/14/2027."));
        }
        date
    }

    /// A day; may be blank.
    pub fn optional_date(&mut self, name: &str, label: &str) -> Option<Option<NaiveDate>> {
        let typed = self.line(name);
        if typed.is_empty() {
            return Some(None);
        }
        read_day(&typed).map(Some).map_err(|why| self.problem(name, says(label, &typed, why))).ok()
    }

    /// A day, or a month such as "Apr 2026"; may be blank.
    pub fn optional_day_or_month(&mut self, name: &str, label: &str) -> Option<Option<DayOrMonth>> {
        let typed = self.line(name);
        if typed.is_empty() {
            return Some(None);
        }
        let read = if parts(&typed).len() == 2 {
            read_month(&typed).map(DayOrMonth::Month)
        } else {
            read_day(&typed).map(DayOrMonth::Day)
        };
        read.map(Some).map_err(|why| self.problem(name, says(label, &typed, why))).ok()
    }

    /// A time of day as `16:30`; may be blank and is then empty.
    pub fn optional_time(&mut self, name: &str, label: &str) -> Option<String> {
        let typed = self.line(name);
        if typed.is_empty() {
            return Some(typed);
        }
        let time = read_time(&typed).map(|time| time.format("%H:%M").to_string());
        if time.is_none() {
            let shown = quoted(&typed);
            self.problem(name, format!("{label}: {shown} is not a time of day. Write it like 4:30 pm or 16:30."));
        }
        time
    }
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

    #[test]
    fn times_are_read_on_both_clocks() {
        let read = |text| read_time(text).map(|time| time.format("%H:%M").to_string());
        for (text, wanted) in [
            ("16:30", "16:30"),
            ("4:30 pm", "16:30"),
            ("4 p.m.", "16:00"),
            ("12 am", "00:00"),
            ("12:15pm", "12:15"),
            ("7:05", "07:05"),
        ] {
            assert_eq!(read(text).as_deref(), Some(wanted), "{text}");
        }
        for text in ["25:00", "4", "13 pm", "0 am", "4:3", "noon", "4:60"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
