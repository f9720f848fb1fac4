//! Days and hours as Americans write them.

use chrono::{Datelike, NaiveDate, NaiveTime};

/// `October 14, 2027`: for papers and facts.
pub fn full(day: NaiveDate) -> String {
    day.format("%B %-d, %Y").to_string()
}

/// `Thursday, October 14`, with the year when it is another one than today's.
pub fn long(day: NaiveDate, today: NaiveDate) -> String {
    with_year(day.format("%A, %B %-d").to_string(), day, today)
}

/// `Oct 14`, with the year when it is another one than today's.
pub fn short(day: NaiveDate, today: NaiveDate) -> String {
    with_year(day.format("%b %-d").to_string(), day, today)
}

/// `Thu, Oct 14`, with the year when it is another one than today's: for days that are near.
pub fn near(day: NaiveDate, today: NaiveDate) -> String {
    with_year(day.format("%a, %b %-d").to_string(), day, today)
}

/// `April 2026`: for a birth date of which only the month is known.
pub fn month(day: NaiveDate) -> String {
    day.format("%B %Y").to_string()
}

/// `Oct 14–18`, `Oct 30–Nov 2`, with the year when it is another one than today's.
pub fn span(from: NaiveDate, to: NaiveDate, today: NaiveDate) -> String {
    if to <= from {
        return short(from, today);
    }
    if (from.year(), from.month()) == (to.year(), to.month()) {
        let text = format!("{}–{}", from.format("%b %-d"), to.format("%-d"));
        return with_year(text, to, today);
    }
    if from.year() == to.year() {
        let text = format!("{}–{}", from.format("%b %-d"), to.format("%b %-d"));
        return with_year(text, to, today);
    }
    format!("{}–{}", from.format("%b %-d, %Y"), to.format("%b %-d, %Y"))
}

/// `4:10 am`, `12:00 pm`.
pub fn hour(time: NaiveTime) -> String {
    time.format("%-I:%M %P").to_string()
}

/// Reads a day as form fields send it, `2027-10-14`, from the year 1900 to 2199.
///
/// # Errors
/// A sentence when it is not such a day.
pub fn read(text: &str) -> Result<NaiveDate, String> {
    let text = text.trim();
    let shown: String = text.chars().take(40).collect();
    let formed = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()
        .filter(|day| formed && (1900..2200).contains(&day.year()))
        .ok_or_else(|| format!("“{shown}” is not a day. Write it like 2027-10-14"))
}

fn with_year(text: String, day: NaiveDate, today: NaiveDate) -> String {
    if day.year() == today.year() { text } else { format!("{text}, {}", day.year()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        read(text).unwrap()
    }

    #[test]
    fn days_carry_their_year_only_when_it_is_not_this_one() {
        let (oct, today, next) = (day("2027-10-14"), day("2027-10-05"), day("2028-01-02"));
        assert_eq!(full(oct), "October 14, 2027");
        assert_eq!(
            (long(oct, today).as_str(), long(oct, next).as_str()),
            ("Thursday, October 14", "Thursday, October 14, 2027")
        );
        assert_eq!((short(oct, today).as_str(), short(oct, next).as_str()), ("Oct 14", "Oct 14, 2027"));
        assert_eq!(near(next, today), "Sun, Jan 2, 2028");
        assert_eq!(month(day("2026-04-01")), "April 2026");
    }

    #[test]
    fn spans_say_the_month_once() {
        let today = day("2027-10-05");
        let said = |from, to| span(day(from), day(to), today);
        assert_eq!(said("2027-10-14", "2027-10-18"), "Oct 14–18");
        assert_eq!(said("2027-10-30", "2027-11-02"), "Oct 30–Nov 2");
        assert_eq!(said("2027-12-30", "2028-01-02"), "Dec 30, 2027–Jan 2, 2028");
        assert_eq!(said("2028-10-14", "2028-10-18"), "Oct 14–18, 2028");
        assert_eq!(said("2027-10-14", "2027-10-14"), "Oct 14");
    }

    #[test]
    fn hours_have_no_leading_zero() {
        let at = |h, m| hour(NaiveTime::from_hms_opt(h, m, 0).unwrap());
        assert_eq!((at(4, 10).as_str(), at(0, 5).as_str(), at(12, 0).as_str()), ("4:10 am", "12:05 am", "12:00 pm"));
    }

    #[test]
    fn only_real_days_are_read() {
        for bad in ["", "2027-02-29", "2027-2-9", "10/14/2027", "0027-10-14", "+2027-1-1", "2300-01-01", "２027-10-14"]
        {
            assert!(read(bad).is_err(), "{bad}");
        }
    }
}
