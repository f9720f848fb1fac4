//! Money in whole cents and prices in ten-thousandths of a dollar per unit.

use super::decimal::{BadFigure, grouped, parse_fixed, plain, round_fixed, tidy_typed};
use super::weight::Weight;
use rust_decimal::Decimal;

/// A sum was too large to be true.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a sum is larger than can be recorded")]
pub struct Overflow;

/// An amount of money in whole cents; may be negative. At most 99,999,999.99 either way.
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
    diesel::expression::AsExpression,
    diesel::deserialize::FromSqlRow,
)]
#[diesel(sql_type = diesel::sql_types::BigInt)]
pub struct Money(i64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// The largest amount, in cents, that can be recorded: 99,999,999.99.
    pub const LIMIT: i64 = 9_999_999_999;

    /// An amount from whole cents.
    pub const fn from_cents(cents: i64) -> Self {
        Self(cents)
    }
    /// The amount in whole cents.
    pub const fn cents(self) -> i64 {
        self.0
    }
    /// Reads a plain figure with at most two decimals (`"12.5"`, `"-3.00"`).
    ///
    /// # Errors
    /// [`BadFigure`] when it is not such a figure.
    pub fn parse(text: &str) -> Result<Self, BadFigure> {
        parse_fixed(text, 2, Self::LIMIT).map(Self)
    }
    /// Reads what a person typed: also `$1,481.18`.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not an amount.
    pub fn parse_typed(text: &str) -> Result<Self, BadFigure> {
        Self::parse(&tidy_typed(text))
    }
    /// Plain figure with two decimals, for machines and form fields.
    pub fn plain(self) -> String {
        plain(self.0, 2)
    }
    /// `1,481.18`, with a real minus sign when negative.
    pub fn shown(self) -> String {
        grouped(self.0, 2)
    }
    /// `$1,481.18`, `−$5.00`.
    pub fn dollars(self) -> String {
        if self.0 < 0 { format!("−${}", grouped(-self.0, 2)) } else { format!("${}", grouped(self.0, 2)) }
    }
    /// The amount as a decimal number of dollars.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 2)
    }
    /// Rounds dollars to the cent, half away from zero.
    ///
    /// # Errors
    /// [`Overflow`] when it is larger than can be recorded.
    pub fn rounded(dollars: Decimal) -> Result<Self, Overflow> {
        round_fixed(dollars, 2).map(Self).ok_or(Overflow)?.checked()
    }
    fn checked(self) -> Result<Self, Overflow> {
        if self.0.unsigned_abs() > Self::LIMIT as u64 { Err(Overflow) } else { Ok(self) }
    }
    /// Adds two amounts.
    ///
    /// # Errors
    /// [`Overflow`] when the sum is larger than can be recorded.
    pub fn plus(self, other: Self) -> Result<Self, Overflow> {
        self.0.checked_add(other.0).map(Self).ok_or(Overflow)?.checked()
    }
    /// Takes `other` away.
    ///
    /// # Errors
    /// [`Overflow`] when the difference is larger than can be recorded.
    pub fn minus(self, other: Self) -> Result<Self, Overflow> {
        self.0.checked_sub(other.0).map(Self).ok_or(Overflow)?.checked()
    }
    /// Adds up a list.
    ///
    /// # Errors
    /// [`Overflow`] when the sum is larger than can be recorded.
    pub fn sum(amounts: impl IntoIterator<Item = Self>) -> Result<Self, Overflow> {
        amounts.into_iter().try_fold(Self::ZERO, Self::plus)
    }
    /// The amount with its sign turned.
    pub const fn negated(self) -> Self {
        Self(-self.0)
    }
    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
    /// Whether it is more than nothing.
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }
}

/// A price in ten-thousandths of a dollar per unit; 0 to 99,999.9999.
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
    diesel::expression::AsExpression,
    diesel::deserialize::FromSqlRow,
)]
#[diesel(sql_type = diesel::sql_types::BigInt)]
pub struct Rate(i64);

impl Rate {
    /// Free of charge.
    pub const ZERO: Self = Self(0);
    /// The highest price, in ten-thousandths.
    pub const LIMIT: i64 = 999_999_999;

    /// A price from ten-thousandths of a dollar.
    pub const fn from_ten_thousandths(n: i64) -> Self {
        Self(n)
    }
    /// The price in ten-thousandths of a dollar.
    pub const fn ten_thousandths(self) -> i64 {
        self.0
    }
    /// Reads a plain figure with at most four decimals, not negative.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not such a figure.
    pub fn parse(text: &str) -> Result<Self, BadFigure> {
        match parse_fixed(text, 4, Self::LIMIT)? {
            n if n < 0 => Err(BadFigure::OutOfRange),
            n => Ok(Self(n)),
        }
    }
    /// Reads what a person typed: also `$4.65`.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not a price.
    pub fn parse_typed(text: &str) -> Result<Self, BadFigure> {
        Self::parse(&tidy_typed(text))
    }
    /// The price as a decimal number of dollars per unit.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 4)
    }
    /// `4.65`, `0.8525`: at least two decimals, no needless zeros, thousands commas.
    pub fn shown(self) -> String {
        let text = grouped(self.0, 4);
        let cut = text.trim_end_matches('0');
        let decimals = cut.rsplit_once('.').map_or(0, |(_, d)| d.len());
        format!("{cut}{}", "0".repeat(2_usize.saturating_sub(decimals)))
    }
    /// `$4.65`.
    pub fn dollars(self) -> String {
        format!("${}", self.shown())
    }
    /// Plain figure with at least two decimals, for form fields.
    pub fn plain(self) -> String {
        self.shown().replace(',', "")
    }
    /// Price times weight, rounded once to the cent, half away from zero.
    ///
    /// # Errors
    /// [`Overflow`] when the amount is larger than can be recorded.
    pub fn times(self, weight: Weight) -> Result<Money, Overflow> {
        Money::rounded(self.decimal().checked_mul(weight.decimal()).ok_or(Overflow)?)
    }
}

/// A per cent in thousandths; 0 to 100.
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
    diesel::expression::AsExpression,
    diesel::deserialize::FromSqlRow,
)]
#[diesel(sql_type = diesel::sql_types::BigInt)]
pub struct Percent(i64);

impl Percent {
    /// None.
    pub const ZERO: Self = Self(0);
    /// A per cent from thousandths of one per cent.
    pub const fn from_thousandths(n: i64) -> Self {
        Self(n)
    }
    /// Thousandths of one per cent.
    pub const fn thousandths(self) -> i64 {
        self.0
    }
    /// Reads a plain figure with at most three decimals, 0 to 100.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not such a figure.
    pub fn parse(text: &str) -> Result<Self, BadFigure> {
        match parse_fixed(text, 3, 100_000)? {
            n if n < 0 => Err(BadFigure::OutOfRange),
            n => Ok(Self(n)),
        }
    }
    /// Reads what a person typed: also `5.5 %`.
    ///
    /// # Errors
    /// [`BadFigure`] when it is not a per cent.
    pub fn parse_typed(text: &str) -> Result<Self, BadFigure> {
        Self::parse(&tidy_typed(text))
    }
    /// This per cent of an amount, rounded once to the cent, half away from zero.
    ///
    /// # Errors
    /// [`Overflow`] when the amount is larger than can be recorded.
    pub fn of(self, amount: Money) -> Result<Money, Overflow> {
        Money::rounded(amount.decimal().checked_mul(Decimal::new(self.0, 5)).ok_or(Overflow)?)
    }
    /// `5.5`: no needless zeros.
    pub fn shown(self) -> String {
        Decimal::new(self.0, 3).normalize().to_string()
    }
    /// Whether it is none.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

crate::big_int_column!(Money);
crate::big_int_column!(Rate);
crate::big_int_column!(Percent);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_times_a_weight_is_rounded_once() {
        let rate = |s| Rate::parse(s).unwrap();
        let weight = |s| Weight::parse(s).unwrap();
        assert_eq!(rate("4.65").times(weight("389.5")).unwrap().plain(), "1811.18");
        assert_eq!(rate("0.005").times(weight("1")).unwrap().plain(), "0.01");
        assert_eq!(rate("99999.9999").times(weight("99999.99")), Err(Overflow));
    }

    #[test]
    fn prices_show_at_least_two_decimals() {
        let shown = |s| Rate::parse(s).unwrap().shown();
        assert_eq!(
            (shown("4.65").as_str(), shown("5").as_str(), shown("0.8525").as_str(), shown("4.5").as_str()),
            ("4.65", "5.00", "0.8525", "4.50")
        );
    }

    #[test]
    fn a_per_cent_of_an_amount_keeps_its_sign() {
        assert_eq!(Percent::parse("5.5").unwrap().of(Money::from_cents(-1000)).unwrap().cents(), -55);
        assert_eq!(Percent::parse("100.001"), Err(BadFigure::OutOfRange));
    }

    #[test]
    fn sums_refuse_to_wrap() {
        let most = Money::from_cents(Money::LIMIT);
        assert_eq!(most.plus(Money::from_cents(1)), Err(Overflow));
        assert_eq!(most.negated().minus(Money::from_cents(1)), Err(Overflow));
    }
}
