//! Days as banks write them: 2027-10-14, 20271014, 10/14/2027, 14.10.27, Oct 14, 2027, 14-Oct-27. Which of two figures is the month is
//! settled by the column: a figure above 12 is a day. Where none shows it, the month stands first, as Americans write.

use crate::trade::sheet_file::shortened;
use chrono::{Datelike, NaiveDate};

/// Which of the two figures comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// `10/14/2027`.
    MonthFirst,
    /// `14/10/2027`.
    DayFirst,
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// The pieces of a day without a time of day behind it.
fn pieces(cell: &str) -> Vec<String> {
    let cell = cell.trim();
    // "2027-10-14T09:30:00", "10/14/2027 9:30 AM": what stands behind the first piece with a colon is the time.
    let cell = cell.split_once('T').filter(|(day, _)| day.len() >= 8).map_or(cell, |(day, _)| day);
    let without_time: Vec<&str> = cell.split_whitespace().take_while(|w| !w.contains(':')).collect();
    without_time
        .join(" ")
        .split(|c: char| !c.is_alphanumeric())
        .filter(|p| !p.is_empty())
        .map(str::to_ascii_lowercase)
        .collect()
}

fn number(piece: &str) -> Option<u32> {
    (piece.len() <= 4 && piece.bytes().all(|b| b.is_ascii_digit())).then(|| piece.parse().ok()).flatten()
}

fn month(piece: &str) -> Option<u32> {
    let begins = piece.get(..3)?;
    let at = MONTHS.iter().position(|m| *m == begins && piece.bytes().all(|b| b.is_ascii_alphabetic()))?;
    u32::try_from(at.saturating_add(1)).ok()
}

/// A year of two figures is of this century.
fn year(piece: &str) -> Option<i32> {
    let n = number(piece)?;
    let n = match piece.len() {
        4 => n,
        2 => n.saturating_add(2000),
        _ => return None,
    };
    i32::try_from(n).ok()
}

/// The two figures of a day in which month and day cannot be told apart by themselves, and its year.
fn two(pieces: &[String]) -> Option<(u32, u32, i32)> {
    let [a, b, y] = pieces else { return None };
    (a.len() <= 2 && b.len() <= 2).then_some(())?;
    Some((number(a)?, number(b)?, year(y)?))
}

/// The order of all days of a column.
pub fn order<'a>(cells: impl IntoIterator<Item = &'a str>) -> Order {
    let mut order = Order::MonthFirst;
    for cell in cells {
        match two(&pieces(cell)) {
            Some((a, b, _)) if a > 12 && b <= 12 => order = Order::DayFirst,
            Some((a, b, _)) if b > 12 && a <= 12 => return Order::MonthFirst,
            _ => {}
        }
    }
    order
}

/// Reads a day, from the year 1990 to 2199.
///
/// # Errors
/// What is wrong and what to do, in a sentence.
pub fn read(cell: &str, order: Order) -> Result<NaiveDate, String> {
    let pieces = pieces(cell);
    let words: Vec<&str> = pieces.iter().map(String::as_str).collect();
    // A weekday in front says nothing more.
    let words = match words.as_slice() {
        [weekday, rest @ ..]
            if rest.len() == 3 && weekday.len() >= 3 && month(weekday).is_none() && number(weekday).is_none() =>
        {
            rest
        }
        all => all,
    };
    let made = match words {
        [one] if one.len() == 8 && one.bytes().all(|b| b.is_ascii_digit()) => {
            NaiveDate::parse_from_str(one, "%Y%m%d").ok()
        }
        [y, m, d] if y.len() == 4 && number(y).is_some() => {
            let m = number(m).or_else(|| month(m));
            year(y).zip(m).zip(number(d)).and_then(|((y, m), d)| NaiveDate::from_ymd_opt(y, m, d))
        }
        [a, b, y] => match (month(a), month(b), number(a), number(b)) {
            (Some(m), _, _, Some(d)) | (_, Some(m), Some(d), _) => {
                year(y).and_then(|y| NaiveDate::from_ymd_opt(y, m, d))
            }
            (None, None, Some(a), Some(b)) => {
                let (m, d) = if order == Order::MonthFirst { (a, b) } else { (b, a) };
                year(y).and_then(|y| NaiveDate::from_ymd_opt(y, m, d))
            }
            _ => None,
        },
        _ => None,
    };
    made.filter(|day| (1990..2200).contains(&day.year()))
        .ok_or_else(|| format!("“{}” is not a day. Write it like 2027-10-14.", shortened(cell)))
}
