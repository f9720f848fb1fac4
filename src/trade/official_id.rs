//! The forms of official animal identification numbers. Only the form is checked: whether a number was issued, and whether an
//! animal needs one, is for the state veterinarian.

/// Shown wherever an official number is entered.
pub const CAUTION: &str = "Only the form of the number is checked. Which animals need official identification, and which kind, \
is set by 9 CFR part 86 (cattle and bison) and part 79 (sheep and goats) and by your state: ask your state veterinarian. \
Official tags put on cattle since November 5, 2024 must also be readable electronically (89 FR 39540).";

crate::words! {
    /// A numbering system.
    pub enum IdKind {
        /// Animal identification number: 15 digits that begin with 840 (9 CFR 86.1).
        Ain = "ain", "animal identification number (840)";
        /// National Uniform Eartagging System: 8 or 9 characters, of which the first two are a state's digits (9 CFR 55.1; APHIS NVAP guide).
        Nues = "nues", "National Uniform Eartagging System";
        /// Flock identification number: a state's two letters, then letters and digits (9 CFR 86.1); on a tag with the herd number.
        Fin = "fin", "flock identification number";
        /// Premises identification number: 7 letters and digits (74 FR 1634); on a tag with the animal's own number.
        Pin = "pin", "premises identification number";
    }
}

/// Why a number has no official form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadId {
    /// 15 digits with a manufacturer's code.
    #[error(
        "This is 15 digits but does not begin with 840. Numbers with a manufacturer’s code are not official on tags put on since March 11, 2015 (9 CFR 86.1)"
    )]
    Manufacturer,
    /// Digits that are not 15.
    #[error("A number that begins with 840 has 15 digits. Count them again")]
    NotFifteen,
    /// A foreign-born animal with an 840 number.
    #[error("An animal born outside the United States does not get a number that begins with 840 (9 CFR 86.1)")]
    ForeignBorn,
    /// None of the forms.
    #[error(
        "This has none of the official forms: 840 and 12 digits; 8 or 9 characters beginning with a state’s two digits; a state’s two letters and a flock number; or a 7-character premises number"
    )]
    NoForm,
}

/// A number without the blanks and hyphens people write in it, letters in capitals.
pub fn tidy(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '-').map(|c| c.to_ascii_uppercase()).collect()
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn letters_and_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_alphanumeric())
}

/// Whether it is 15 digits beginning with 840, for an animal born in the United States.
pub fn is_ain(text: &str, foreign_born: bool) -> bool {
    !foreign_born && text.len() == 15 && digits(text) && text.starts_with("840")
}

/// Whether it is 8 or 9 letters and digits beginning with two digits.
pub fn is_nues(text: &str) -> bool {
    matches!(text.len(), 8 | 9) && letters_and_digits(text) && text.bytes().take(2).all(|b| b.is_ascii_digit())
}

/// Whether it is two letters followed by up to twelve letters and digits.
pub fn is_fin(text: &str) -> bool {
    (3..=14).contains(&text.len()) && letters_and_digits(text) && text.bytes().take(2).all(|b| b.is_ascii_alphabetic())
}

/// Whether it is 7 letters and digits.
pub fn is_pin(text: &str) -> bool {
    text.len() == 7 && letters_and_digits(text)
}

/// Recognizes a number as a person wrote it and returns its kind and its tidy form.
///
/// Where two forms fit, the more particular one is named: seven characters that begin with two letters are taken for a flock
/// number.
///
/// # Errors
/// [`BadId`] when it has none of the forms or an 840 number is given to a foreign-born animal.
pub fn recognize(text: &str, foreign_born: bool) -> Result<(IdKind, String), BadId> {
    let id = tidy(text);
    let kind = if is_ain(&id, false) {
        if foreign_born {
            return Err(BadId::ForeignBorn);
        }
        IdKind::Ain
    } else if digits(&id) && id.len() == 15 {
        return Err(BadId::Manufacturer);
    } else if is_nues(&id) {
        IdKind::Nues
    } else if id.starts_with("840") && id.len() > 9 {
        return Err(BadId::NotFifteen);
    } else if is_fin(&id) {
        IdKind::Fin
    } else if is_pin(&id) {
        IdKind::Pin
    } else {
        return Err(BadId::NoForm);
    };
    Ok((kind, id))
}

/// A tidy number as people read it: an 840 number in groups of three (`840 003 000 000 229`), others as they are.
pub fn shown(id: &str) -> String {
    if !is_ain(id, false) {
        return id.to_string();
    }
    let mut out = String::new();
    for (i, c) in id.chars().enumerate() {
        if i > 0 && i % 3 == 0 {
            out.push('\u{a0}');
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_form_is_recognized_as_people_write_it() {
        let kind = |text| recognize(text, false).map(|found| found.0);
        assert_eq!(recognize("840 003 000 000 229", false).unwrap().1, "840003000000229");
        assert_eq!(kind("840-003123456789"), Ok(IdKind::Ain));
        assert_eq!(kind("35 abc 1234"), Ok(IdKind::Nues));
        assert_eq!(kind("35AB1234"), Ok(IdKind::Nues));
        assert_eq!(kind("xx12345"), Ok(IdKind::Fin));
        assert_eq!(kind("00A1B2C"), Ok(IdKind::Pin));
        assert_eq!(kind("982000123456789"), Err(BadId::Manufacturer));
        assert_eq!(kind("84000312345678"), Err(BadId::NotFifteen));
        assert_eq!(kind("8400031234567A9"), Err(BadId::NotFifteen));
        assert_eq!(recognize("840003123456789", true), Err(BadId::ForeignBorn));
        for bad in ["", "-", "é35ABC12", "12", "35ABC123456", "XX"] {
            assert_eq!(kind(bad), Err(BadId::NoForm), "{bad}");
        }
        assert_eq!(shown("840003000000229"), "840\u{a0}003\u{a0}000\u{a0}000\u{a0}229");
    }
}
