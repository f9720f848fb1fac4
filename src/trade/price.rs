//! Which price of a dated list holds on a day.

use chrono::NaiveDate;

/// One entry of a price list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dated<T> {
    /// First day it holds.
    pub from: NaiveDate,
    /// Order of entry: of two entries for the same day the later one holds.
    pub id: i64,
    /// The price.
    pub price: T,
}

/// The entry in force on a day: the latest `from` not after it, of equals the highest id. `None` before the first.
pub fn in_force<T>(list: &[Dated<T>], day: NaiveDate) -> Option<&Dated<T>> {
    list.iter().filter(|entry| entry.from <= day).max_by_key(|entry| (entry.from, entry.id))
}

/// The entry that will follow on the one in force, so that a page can say "from March 1".
pub fn next<T>(list: &[Dated<T>], day: NaiveDate) -> Option<&Dated<T>> {
    let from = list.iter().map(|entry| entry.from).filter(|from| *from > day).min()?;
    list.iter().filter(|entry| entry.from == from).max_by_key(|entry| entry.id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_latest_entry_holds_until_the_next() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let entry = |id, from: &str, price| Dated { from: day(from), id, price };
        let list = [entry(1, "2027-01-01", 465), entry(3, "2027-03-01", 490), entry(2, "2027-03-01", 485)];
        let on = |text| in_force(&list, day(text)).map(|e| e.price);
        assert_eq!(on("2026-12-31"), None);
        assert_eq!(on("2027-02-28"), Some(465));
        assert_eq!(on("2027-03-01"), Some(490));
        assert_eq!(next(&list, day("2027-02-28")).map(|e| e.price), Some(490));
        assert_eq!(next(&list, day("2027-03-01")), None);
    }
}
