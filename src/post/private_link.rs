//! The private link in a message. Its token is stored as a hash only, so a message in the outbox holds a mark in its place, and the
//! link is made as the message leaves. Where there can be none, the paragraph with the mark is left out.

/// What stands in a message in the place of the link: a sign for private use (Unicode 23.5), which nobody types.
pub const MARK: &str = "\u{E0C1}";

/// Whether a message is to carry a private link.
pub fn is_wanted(body: &str) -> bool {
    body.contains(MARK)
}

/// The message with the link in it.
pub fn with_link(body: &str, url: &str) -> String {
    body.replace(MARK, url)
}

/// The message without the paragraphs that have the mark: for letters, and where no link can be made.
pub fn without(body: &str) -> String {
    body.split("\n\n").filter(|paragraph| !is_wanted(paragraph)).collect::<Vec<_>>().join("\n\n")
}

/// The message for the eyes of the farm: words in the place of the link.
pub fn shown(body: &str) -> String {
    body.replace(MARK, "(the private link)")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_link_goes_in_or_its_paragraph_goes_out() {
        let body = format!("Hello Ines,\n\nYour page:\n{MARK}\n\nAda Moen\nNettle Bend Farm");
        assert!(is_wanted(&body));
        assert_eq!(
            with_link(&body, "https://x/c/t"),
            "Hello Ines,\n\nYour page:\nhttps://x/c/t\n\nAda Moen\nNettle Bend Farm"
        );
        assert_eq!(without(&body), "Hello Ines,\n\nAda Moen\nNettle Bend Farm");
        assert_eq!(shown(&body), "Hello Ines,\n\nYour page:\n(the private link)\n\nAda Moen\nNettle Bend Farm");
        for plain in ["Hello\n\nAda", "one line", ""] {
            assert!(!is_wanted(plain));
            assert_eq!(without(plain), plain);
        }
    }
}
