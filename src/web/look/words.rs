//! Small words: counts written out.

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_written_out_up_to_twelve() {
        assert_eq!((count(0).as_str(), count(12).as_str(), count(13).as_str()), ("No", "Twelve", "13"));
        assert_eq!(counted(1, "quarter", "quarters"), "one quarter");
        assert_eq!(counted(66, "order", "orders"), "66 orders");
    }
}
