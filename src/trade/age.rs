//! An animal's age, and on which side of 30 months cattle are.
//!
//! From 30 months on more of a carcass of cattle is specified risk material, which is taken out at the plant (9 CFR
//! 310.22(a)). How old an animal is for that purpose is decided there, by its teeth or its papers; what the book knows only
//! says what to expect. There is no such limit for hogs, sheep and goats.

use super::share::Species;
use super::vocabulary::BirthPrecision;
use chrono::{Datelike, NaiveDate};

/// Whole months from birth to a day; `None` before birth. A birth known to the month counts from its first day, which can
/// only make the animal older.
pub fn months(birth: NaiveDate, on: NaiveDate) -> Option<u32> {
    if on < birth {
        return None;
    }
    let years = i64::from(on.year()) - i64::from(birth.year());
    let all = years * 12 + i64::from(on.month()) - i64::from(birth.month());
    u32::try_from(if on.day() < birth.day() { all - 1 } else { all }).ok()
}

/// On which side of 30 months an animal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AgeClass {
    /// Younger.
    Under30,
    /// 30 months or older.
    From30,
    /// Its birth is not known.
    Unknown,
}

impl AgeClass {
    /// What people read.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Under30 => "Under 30 months",
            Self::From30 => "30 months or older",
            Self::Unknown => "Not known; the plant decides by the teeth",
        }
    }
}

/// The age class of cattle on a day; `None` for other species, which have none.
pub fn class_on(
    species: Species,
    birth: Option<NaiveDate>,
    precision: BirthPrecision,
    on: NaiveDate,
) -> Option<AgeClass> {
    if species != Species::Beef {
        return None;
    }
    let known = birth.filter(|_| precision != BirthPrecision::Unknown);
    Some(match known.and_then(|birth| months(birth, on)) {
        None => AgeClass::Unknown,
        Some(months) if months < 30 => AgeClass::Under30,
        Some(_) => AgeClass::From30,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_months_are_counted_to_the_day() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        assert_eq!(months(day("2025-04-15"), day("2027-10-14")), Some(29));
        assert_eq!(months(day("2025-04-15"), day("2027-10-15")), Some(30));
        assert_eq!(months(day("2025-08-31"), day("2028-02-29")), Some(29), "the 31st is not reached in a short month");
        assert_eq!(months(day("2027-10-15"), day("2027-10-14")), None);
        let class = |birth, precision| class_on(Species::Beef, birth, precision, day("2027-10-14"));
        assert_eq!(class(Some(day("2025-04-15")), BirthPrecision::Exact), Some(AgeClass::Under30));
        assert_eq!(
            class(Some(day("2025-04-01")), BirthPrecision::Month),
            Some(AgeClass::From30),
            "taken as the oldest"
        );
        assert_eq!(class(None, BirthPrecision::Unknown), Some(AgeClass::Unknown));
        assert_eq!(class_on(Species::Hog, None, BirthPrecision::Unknown, day("2027-10-14")), None);
    }
}
