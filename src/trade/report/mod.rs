//! Reports: which time they are about, which lines of the ledger stand behind a figure, and how figures are added up.
//!
//! Everything in here is reckoned from what `book::report` reads; nothing is stored. Sums are whole cents and hundredths of the
//! farm's unit in `i64`, which holds a million times the largest amount a line may have.

pub mod behind;
pub mod head;
pub mod months;
pub mod people;
pub mod period;
pub mod plants;
pub mod sold;

use super::decimal::round_fixed;
use super::money::{Money, Rate};
use super::weight::Weight;
use rust_decimal::Decimal;

/// A part of a whole in tenths of one per cent, rounded half away from zero; `None` when the whole is nothing.
pub fn tenths(part: i64, whole: i64) -> Option<i64> {
    let exact = Decimal::from(part).checked_mul(Decimal::ONE_HUNDRED)?.checked_div(Decimal::from(whole))?;
    round_fixed(exact, 1)
}

/// An amount per unit of weight; `None` when the weight is nothing or the amount is below nothing.
pub fn per_unit(amount: Money, weight: Weight) -> Option<Rate> {
    let exact = amount.decimal().checked_div(weight.decimal())?;
    round_fixed(exact, 4).filter(|n| (0..=Rate::LIMIT).contains(n)).map(Rate::from_ten_thousandths)
}

/// The same to the whole cent, as people read it.
pub fn per_unit_shown(amount: Money, weight: Weight) -> Option<Money> {
    per_unit(amount, weight).and_then(|rate| Money::rounded(rate.decimal()).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_rounded_once_and_nothing_is_divided_by_nothing() {
        assert_eq!(tenths(1, 3), Some(333));
        assert_eq!(tenths(2, 3), Some(667));
        assert_eq!(tenths(-1, 3), Some(-333));
        assert_eq!(tenths(1, 0), None);
        let cents = Money::from_cents;
        let lb = Weight::from_hundredths;
        assert_eq!(per_unit(cents(43_313), lb(8_250)).unwrap().shown(), "5.2501");
        assert_eq!(per_unit_shown(cents(43_313), lb(8_250)), Some(cents(525)));
        assert_eq!(per_unit(cents(100), lb(0)), None);
        assert_eq!(per_unit(cents(-100), lb(100)), None);
    }
}
