//! Weights in hundredths of the farm's unit.

use super::decimal::{BadFigure, grouped, parse_fixed, plain, tidy_typed};
use super::money::Overflow;
use rust_decimal::Decimal;

crate::words! {
    /// The unit every weight of a farm is in; chosen at set-up.
    pub enum Unit {
        /// Pounds.
        Lb = "lb", "lb (pounds)";
        /// Kilograms.
        Kg = "kg", "kg (kilograms)";
    }
}

/// A weight in hundredths of the farm's unit; 0 to 99,999.99.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Default,
    serde::Serialize,
    serde::Deserialize,
    diesel::expression::AsExpression,
    diesel::deserialize::FromSqlRow,
)]
#[serde(transparent)]
#[diesel(sql_type = diesel::sql_types::BigInt)]
pub struct Weight(i64);

impl Weight {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// The largest weight in hundredths: 99,999.99.
    pub const LIMIT: i64 = 9_999_999;

    /// A weight from hundredths of the unit.
    pub const fn from_hundredths(n: i64) -> Self {
        Self(n)
    }
    /// Hundredths of the unit.
    pub const fn hundredths(self) -> i64 {
        self.0
    }
    /// Reads a plain figure with at most two decimals, not negative.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not such a figure.
    pub fn parse(text: &str) -> Result<Self, BadFigure> {
        match parse_fixed(text, 2, Self::LIMIT)? {
            n if n < 0 => Err(BadFigure::OutOfRange),
            n => Ok(Self(n)),
        }
    }
    /// Reads what a person typed: also `1,290 lb`.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not a weight.
    pub fn parse_typed(text: &str) -> Result<Self, BadFigure> {
        Self::parse(&tidy_typed(text))
    }
    /// Plain figure with two decimals, for machines.
    pub fn plain(self) -> String {
        plain(self.0, 2)
    }
    /// `1,290.00`, for facts.
    pub fn shown(self) -> String {
        grouped(self.0, 2)
    }
    /// `1,290`, `389.5`: no needless zeros, for fields and estimates.
    pub fn short(self) -> String {
        let text = grouped(self.0, 2);
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    }
    /// The weight as a decimal number.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 2)
    }
    /// Adds two weights.
    ///
    /// # Errors
    /// [`Overflow`] when the sum is larger than can be recorded.
    pub fn plus(self, other: Self) -> Result<Self, Overflow> {
        let n = self.0.checked_add(other.0).ok_or(Overflow)?;
        if n > Self::LIMIT { Err(Overflow) } else { Ok(Self(n)) }
    }
    /// Adds up a list.
    ///
    /// # Errors
    /// [`Overflow`] when the sum is larger than can be recorded.
    pub fn sum(weights: impl IntoIterator<Item = Self>) -> Result<Self, Overflow> {
        weights.into_iter().try_fold(Self::ZERO, Self::plus)
    }
    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

crate::big_int_column!(Weight);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_never_negative() {
        assert_eq!(Weight::parse("-1"), Err(BadFigure::OutOfRange));
        assert_eq!(Weight::parse("100000"), Err(BadFigure::OutOfRange));
        assert_eq!(Weight::parse_typed("1,290 lb").unwrap().short(), "1,290");
    }
}
