//! Folding text for searching: case, accents and extra spaces do not count.

/// The text in lower-case ASCII letters with single spaces: "Łucja  Núñez" becomes "lucja nunez".
pub fn fold(text: &str) -> String {
    deunicode::deunicode(text).to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::fold;

    #[test]
    fn case_accents_and_spaces_do_not_count() {
        assert_eq!(fold("  Łucja   NÚÑEZ "), "lucja nunez");
        assert_eq!(fold("Þóra Nguyễn"), "thora nguyen");
        assert_eq!(fold("Grüßner"), "grussner");
    }
}
