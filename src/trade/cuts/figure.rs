//! A figure of the catalogue: a decimal with at most four places, kept as a whole number and written as a string.

use crate::trade::decimal::{BadFigure, parse_fixed};
use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A decimal figure in ten-thousandths of whatever it counts: inches, pounds, per cent, days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Figure(i64);

impl Figure {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// Ten-thousandths in one.
    pub const ONE: i64 = 10_000;
    /// The largest figure: 100,000.
    pub const LIMIT: i64 = 100_000 * Self::ONE;

    /// A whole figure.
    pub const fn whole(n: i64) -> Self {
        Self(n.saturating_mul(Self::ONE))
    }
    /// A figure of so many hundredths, at least nothing.
    pub const fn from_hundredths(n: i64) -> Self {
        Self(if n < 0 { 0 } else { n.saturating_mul(100) })
    }
    /// Reads a plain decimal with at most four places, not negative.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not such a figure.
    pub fn parse(text: &str) -> Result<Self, BadFigure> {
        match parse_fixed(text, 4, Self::LIMIT)? {
            n if n < 0 => Err(BadFigure::OutOfRange),
            n => Ok(Self(n)),
        }
    }
    /// Ten-thousandths.
    pub const fn ten_thousandths(self) -> i64 {
        self.0
    }
    /// Hundredths, cut off. The loader has refused per cents with more than two places.
    pub const fn hundredths(self) -> i64 {
        self.0 / 100
    }
    /// Whether nothing stands behind the second place.
    pub const fn is_hundredths(self) -> bool {
        self.0 % 100 == 0
    }
    /// The whole number, if it is one.
    pub const fn as_whole(self) -> Option<i64> {
        if self.0 % Self::ONE == 0 { Some(self.0 / Self::ONE) } else { None }
    }
    /// The figure as a decimal.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 4)
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.decimal().normalize())
    }
}

impl Serialize for Figure {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Figure {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(d)?;
        Self::parse(&text).map_err(|bad| serde::de::Error::custom(bad.sentence(&text, "\"12.5\"")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_read_exactly_and_written_short() {
        assert_eq!(Figure::parse("0.0625").unwrap().ten_thousandths(), 625);
        assert_eq!(Figure::parse("14.50").unwrap().to_string(), "14.5");
        assert_eq!(Figure::parse("100").unwrap(), Figure::whole(100));
        assert!(Figure::parse("-1").is_err() && Figure::parse("0.00001").is_err());
        assert!(!Figure::parse("0.125").unwrap().is_hundredths());
    }
}
