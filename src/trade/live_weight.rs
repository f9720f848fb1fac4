//! Live weight from heart girth and length, with a tape instead of a scale. An estimate: never billed.
//!
//! girth² × length ÷ 300 for cattle (development-agency manual "Determining weights of animals", nzdl.org), sheep and goats
//! (Washington State University Extension, "Heart girth and weight"), ÷ 400 for hogs (thepigsite.com, 2002); inches in,
//! pounds out. Girth just behind the front legs; length from the point of the shoulder to the pin bone, on hogs from between
//! the ears to the base of the tail. An addition for hogs under 150 lb is left out: only blogs give it, and not the same one.
//!
//! A farm in kilograms measures in centimeters; the formula is the same, converted by 2.54 cm to the inch and 0.45359237 kg to
//! the pound, both exact.

use super::decimal::round_fixed;
use super::share::Species;
use super::weight::{Unit, Weight};
use rust_decimal::Decimal;

/// The longest girth or length that is believed, in hundredths of an inch or centimeter: 500.
pub const LONGEST: i64 = 50_000;

/// A girth or length that is not one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("Girth and length must each be more than 0 and at most 500")]
pub struct BadTape;

/// What the tape is marked in on a farm of that unit.
pub const fn tape_unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Lb => "in",
        Unit::Kg => "cm",
    }
}

/// The live weight as the formula gives it, unrounded. `girth` and `length` are hundredths of an inch (lb) or centimeter (kg).
///
/// # Errors
/// [`BadTape`] when one of them is not positive or longer than [`LONGEST`].
pub fn by_girth(species: Species, girth: i64, length: i64, unit: Unit) -> Result<Decimal, BadTape> {
    if ![girth, length].iter().all(|n| (1..=LONGEST).contains(n)) {
        return Err(BadTape);
    }
    let divisor = match species {
        Species::Beef | Species::Lamb | Species::Goat => Decimal::from(300),
        Species::Hog => Decimal::from(400),
    };
    let cubed = Decimal::new(girth, 2) * Decimal::new(girth, 2) * Decimal::new(length, 2);
    Ok(match unit {
        Unit::Lb => cubed / divisor,
        // 2.54³ = 16.387064 cubic centimeters to the cubic inch.
        Unit::Kg => cubed / Decimal::new(16_387_064, 6) / divisor * Decimal::new(45_359_237, 8),
    })
}

/// The same to the whole pound or kilogram, which is finer than a tape can be.
///
/// # Errors
/// [`BadTape`] as above, and when the formula gives less than half a unit or more than a weight can be.
pub fn estimate(species: Species, girth: i64, length: i64, unit: Unit) -> Result<Weight, BadTape> {
    let whole = round_fixed(by_girth(species, girth, length, unit)?, 0).ok_or(BadTape)?;
    let hundredths = whole.checked_mul(100).filter(|n| (1..=Weight::LIMIT).contains(n)).ok_or(BadTape)?;
    Ok(Weight::from_hundredths(hundredths))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steer_by_the_tape() {
        assert_eq!(estimate(Species::Beef, 7400, 5800, Unit::Lb).unwrap().short(), "1,059");
        // The same steer in centimeters: 187.96 by 147.32, and 1,058.69 lb are 480.21 kg.
        assert_eq!(estimate(Species::Beef, 18_796, 14_732, Unit::Kg).unwrap().short(), "480");
    }

    #[test]
    fn nothing_and_nonsense_are_refused() {
        for (girth, length) in [(0, 100), (100, 0), (-1, 100), (LONGEST + 1, 100), (1, 1)] {
            assert_eq!(estimate(Species::Goat, girth, length, Unit::Lb), Err(BadTape));
        }
        assert_eq!(estimate(Species::Beef, LONGEST, LONGEST, Unit::Lb), Err(BadTape), "416,667 lb");
    }
}
