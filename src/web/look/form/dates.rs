//! Days, months and times of day in a form.

use super::FormIn;
use super::clean::quoted;
use crate::trade::typed_day::{number, read_day, read_day_or_month};
use chrono::{NaiveDate, NaiveTime};

pub use crate::trade::typed_day::DayOrMonth;

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
        read_day(&typed).map(Some).map_err(|why| self.problem(name, format!("{label}: {}", why.sentence(&typed)))).ok()
    }

    /// A day, or a month such as "Apr 2026"; may be blank.
    pub fn optional_day_or_month(&mut self, name: &str, label: &str) -> Option<Option<DayOrMonth>> {
        let typed = self.line(name);
        if typed.is_empty() {
            return Some(None);
        }
        read_day_or_month(&typed)
            .map(Some)
            .map_err(|why| self.problem(name, format!("{label}: {}", why.sentence(&typed))))
            .ok()
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
