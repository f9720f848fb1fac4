//! Messages the farmer sends from their own phone: a link that opens the text message, and the words for the copy button.

use super::wording::tidy_lines;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// Everything but the unreserved characters of RFC 3986 is encoded in the body of the link (RFC 5724, section 2.2).
const BODY: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~');

/// The number of a text message, as digits with or without `+`.
///
/// Blanks, hyphens, dots, slashes, and parentheses are taken out. A number that can only be North American (ten digits, area code and
/// exchange from 2 to 9, or the same after a 1; numbering plan from memory) gets `+1`, because RFC 3966 asks for the global
/// form. Other numbers stay as typed: write them with `+` and the country code.
///
/// # Errors
/// A sentence for the person who typed the number.
pub fn text_number(phone: &str) -> Result<String, String> {
    let refused =
        || format!("“{}” is not a number to text to. Write it in figures, such as +1 402 555 0101.", phone.trim());
    let plain: String = phone
        .trim()
        .chars()
        .filter(|c| !matches!(c, ' ' | '\u{a0}' | '-' | '‑' | '–' | '.' | '/' | '(' | ')'))
        .collect();
    let (plus, digits) = plain.strip_prefix('+').map_or((false, plain.as_str()), |d| (true, d));
    if !digits.bytes().all(|b| b.is_ascii_digit()) || !(3..=15).contains(&digits.len()) {
        return Err(refused());
    }
    if plus {
        return Ok(format!("+{digits}"));
    }
    let national = if digits.len() == 11 { digits.strip_prefix('1').unwrap_or("") } else { digits };
    let high = |at: usize| national.as_bytes().get(at).is_some_and(|b| *b >= b'2');
    if national.len() == 10 && high(0) && high(3) { Ok(format!("+1{national}")) } else { Ok(digits.to_owned()) }
}

/// An `sms:` link (RFC 5724) that opens a text message to `phone` with `words` filled in.
///
/// # Errors
/// A sentence when `phone` is not a number, see [`text_number`].
pub fn sms_link(phone: &str, words: &str) -> Result<String, String> {
    let number = text_number(phone)?;
    Ok(format!("sms:{number}?body={}", utf8_percent_encode(&copy_text(words), BODY)))
}

/// The words as the copy button takes them: no blank lines at the ends, lines ended by `\n`.
pub fn copy_text(words: &str) -> String {
    tidy_lines(words).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use percent_encoding::percent_decode_str;
    use proptest::prelude::*;

    #[test]
    fn numbers() {
        for (typed, number) in [
            ("402 555-0101", "+14025550101"),
            ("(402) 555-0101", "+14025550101"),
            ("1-402-555-0101", "+14025550101"),
            ("+49 30 555 0101", "+49305550101"),
            ("030 5550101", "0305550101"),
            ("555-0101", "5550101"),
        ] {
            assert_eq!(text_number(typed).as_deref(), Ok(number), "{typed}");
        }
        for bad in
            ["", "call me", "402 555 0101 ext 2", "12", "+", "++1402", "1234567890123456", "555-0101?body=x", "٣٣٣٣"]
        {
            assert!(text_number(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn link() {
        assert_eq!(
            sms_link("402 555 0101", "Hello Łukasz, 50 % & more?\r\nBye").unwrap(),
            "sms:+14025550101?body=Hello%20%C5%81ukasz%2C%2050%20%25%20%26%20more%3F%0ABye"
        );
    }

    proptest! {
        #[test]
        fn any_words_come_back(words in "\\PC{0,80}") {
            let link = sms_link("555-0101", &words).unwrap();
            let body = link.strip_prefix("sms:5550101?body=").unwrap();
            prop_assert!(body.bytes().all(|b| b.is_ascii_alphanumeric() || b"-._~%".contains(&b)));
            prop_assert_eq!(percent_decode_str(body).decode_utf8().unwrap(), copy_text(&words));
        }
    }
}
