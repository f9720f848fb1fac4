//! What a mail address and a telephone number look like, in forms and in files.

/// The longest mail address: 254 octets (RFC 5321 4.5.3.1.3 allows 256 with the angle brackets).
const LONGEST_MAIL: usize = 254;

/// Whether the mail library can send to it, and its domain has a dot.
pub fn is_mail(text: &str) -> bool {
    let dotted = text.rsplit_once('@').is_some_and(|(_, domain)| {
        domain.contains('.') && !domain.starts_with('.') && !domain.ends_with('.') && !domain.contains("..")
    });
    dotted && text.len() <= LONGEST_MAIL && text.parse::<lettre::Address>().is_ok()
}

/// Whether it is figures with the signs people put between them, 7 to 15 of them (ITU-T E.164 allows 15), and perhaps
/// an extension.
pub fn is_phone(text: &str) -> bool {
    let lower = text.to_lowercase();
    let (number, extension) = match lower.split_once("ext").or_else(|| lower.split_once('x')) {
        Some((number, extension)) => (number, Some(extension.trim_matches(['.', ' ']))),
        None => (lower.as_str(), None),
    };
    let figures = number.chars().filter(char::is_ascii_digit).count();
    let signs =
        number.chars().all(|c| c.is_ascii_digit() || matches!(c, ' ' | '(' | ')' | '-' | '.' | '/' | '+' | '‑' | '–'));
    let plus_leads = number.trim_start().rfind('+').is_none_or(|place| place == 0);
    let extension =
        extension.is_none_or(|figures| (1..=8).contains(&figures.len()) && figures.bytes().all(|b| b.is_ascii_digit()));
    (7..=15).contains(&figures) && signs && plus_leads && extension
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mail_addresses_that_can_be_sent_to() {
        for good in ["ines@halvard.example", "a.b+c@mail.halvard.example", "o'neil@farm.example"] {
            assert!(is_mail(good), "{good}");
        }
        let long = format!("{}@{}.example", "a".repeat(64), "b".repeat(190));
        for bad in [
            "ines",
            "ines@",
            "@halvard.example",
            "ines@halvard",
            "i nes@halvard.example",
            "a@b@",
            "ines@.example",
            "ines@halvard..example",
            "Ines <ines@halvard.example>",
            &long,
        ] {
            assert!(!is_mail(bad), "{bad}");
        }
    }

    #[test]
    fn telephone_numbers_as_people_write_them() {
        for good in
            ["(715) 555-0117", "715.555.0117", "+1 715 555 0117", "555-0117", "715-555-0117 x12", "715 555 0117 ext. 4"]
        {
            assert!(is_phone(good), "{good}");
        }
        for bad in
            ["555", "call Ines", "715-555-O117", "1234567890123456", "715+555 0117", "715-555-0117 x", "555-0117 x1a"]
        {
            assert!(!is_phone(bad), "{bad}");
        }
    }
}
