//! Small words: counts written out.

use chrono::NaiveDate;

/// "Two", "Twelve", "13": a count at the beginning of a sentence.
pub fn count(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), ToString::to_string)
}

/// "one head", "two head", "13 orders": a count inside a sentence, with its word in singular and plural.
pub fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(n).to_lowercase(), if n == 1 { one } else { many })
}

/// "12 days left", "1 day left", "Today", "2 days late": how long it is until a day.
pub fn left_to(day: NaiveDate, today: NaiveDate) -> String {
    match (day - today).num_days() {
        0 => "Today".into(),
        1 => "1 day left".into(),
        n if n > 1 => format!("{n} days left"),
        -1 => "1 day late".into(),
        n => format!("{} days late", n.saturating_neg()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_that_are_left_are_counted() {
        let today: NaiveDate = "2027-10-14".parse().unwrap();
        let said = [-2, -1, 0, 1, 2].map(|n| left_to(today + chrono::TimeDelta::days(n), today));
        assert_eq!(said, ["2 days late", "1 day late", "Today", "1 day left", "2 days left"]);
    }

    #[test]
    fn counts_are_written_out_up_to_twelve() {
        assert_eq!((count(0).as_str(), count(12).as_str(), count(13).as_str()), ("No", "Twelve", "13"));
        assert_eq!(counted(1, "quarter", "quarters"), "one quarter");
        assert_eq!(counted(66, "order", "orders"), "66 orders");
    }
}
