//! Figures in a form: money, prices, weights, per cents, whole numbers.

use super::FormIn;
use super::clean::quoted;
use crate::trade::decimal::{BadFigure, grouped, parse_fixed, tidy_typed};
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::weight::Weight;
use std::ops::RangeInclusive;

/// What a figure is called and how a good one looks.
struct Kind {
    /// "an amount", as in "is not an amount".
    what: &'static str,
    /// A well-formed one.
    example: &'static str,
    /// The highest one that can be recorded.
    most: String,
}

impl Kind {
    fn says(&self, label: &str, typed: &str, why: BadFigure) -> String {
        let typed_shown = quoted(typed);
        let Self { what, example, most } = self;
        match why {
            BadFigure::NotAFigure => {
                format!("{label}: {typed_shown} is not {what}. Write it in figures, such as {example}.")
            }
            BadFigure::TooManyDecimals(0) => {
                format!("{label}: {typed_shown} has decimals. Write a whole number, such as {example}.")
            }
            BadFigure::TooManyDecimals(n) => {
                format!("{label}: {typed_shown} has more than {n} decimals. Write it like {example}.")
            }
            BadFigure::OutOfRange if tidy_typed(typed).starts_with('-') => {
                format!("{label}: {typed_shown} is less than nothing. Write it like {example}.")
            }
            BadFigure::OutOfRange => {
                format!("{label}: {typed_shown} is too much. At most {most} can be recorded.")
            }
        }
    }
}

fn amount() -> Kind {
    Kind { what: "an amount", example: "400.00", most: grouped(Money::LIMIT, 2) }
}

impl FormIn {
    /// An amount of money, nothing or more.
    pub fn money(&mut self, name: &str, label: &str) -> Option<Money> {
        let money = self.optional_money(name, label)?;
        self.required(name, label, "Write an amount, such as 400.00.", money)
    }

    /// An amount of money, nothing or more; may be blank.
    pub fn optional_money(&mut self, name: &str, label: &str) -> Option<Option<Money>> {
        self.figure(name, label, &amount(), |text| match Money::parse_typed(text)? {
            money if money.cents() < 0 => Err(BadFigure::OutOfRange),
            money => Ok(money),
        })
    }

    /// An amount of money, more than nothing.
    pub fn positive_money(&mut self, name: &str, label: &str) -> Option<Money> {
        let money = self.money(name, label)?;
        if money.is_zero() {
            self.problem(name, format!("{label} is nothing. Write an amount, such as 400.00."));
            return None;
        }
        Some(money)
    }

    /// An amount of money, also below nothing (a discount).
    pub fn signed_money(&mut self, name: &str, label: &str) -> Option<Money> {
        let money = self.figure(name, label, &amount(), Money::parse_typed)?;
        self.required(name, label, "Write an amount, such as −10.00.", money)
    }

    /// A price per unit with at most four decimals.
    pub fn rate(&mut self, name: &str, label: &str) -> Option<Rate> {
        let rate = self.optional_rate(name, label)?;
        self.required(name, label, "Write a price, such as 4.65.", rate)
    }

    /// A price per unit; may be blank.
    pub fn optional_rate(&mut self, name: &str, label: &str) -> Option<Option<Rate>> {
        let kind = Kind { what: "a price", example: "4.65", most: grouped(Rate::LIMIT, 4) };
        self.figure(name, label, &kind, Rate::parse_typed)
    }

    /// A weight, more than nothing.
    pub fn weight(&mut self, name: &str, label: &str) -> Option<Weight> {
        let weight = self.optional_weight(name, label)?;
        self.required(name, label, "Write a weight, such as 351.5.", weight)
    }

    /// A weight, more than nothing; may be blank.
    pub fn optional_weight(&mut self, name: &str, label: &str) -> Option<Option<Weight>> {
        let kind = Kind { what: "a weight", example: "351.5", most: grouped(Weight::LIMIT, 2) };
        let weight = self.figure(name, label, &kind, Weight::parse_typed)?;
        if weight.is_some_and(Weight::is_zero) {
            self.problem(name, format!("{label} is nothing. Write a weight, such as 351.5, or leave it blank."));
            return None;
        }
        Some(weight)
    }

    /// A per cent from 0 to 100 with at most three decimals; blank is none.
    pub fn percent(&mut self, name: &str, label: &str) -> Option<Percent> {
        let kind = Kind { what: "a per cent", example: "5.5", most: "100".to_string() };
        Some(self.figure(name, label, &kind, Percent::parse_typed)?.unwrap_or(Percent::ZERO))
    }

    /// A length in hundredths of an inch or centimeter, from 0.01 to 999.99; may be blank.
    pub fn optional_length(&mut self, name: &str, label: &str) -> Option<Option<i64>> {
        let kind = Kind { what: "a length", example: "74.5", most: "999.99".to_string() };
        self.figure(name, label, &kind, |text| match parse_fixed(&tidy_typed(text), 2, 99_999)? {
            n if n > 0 => Ok(n),
            _ => Err(BadFigure::NotAFigure),
        })
    }

    /// A whole number in a range.
    pub fn whole_number(&mut self, name: &str, label: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let hint = format!("Write a number from {} to {}.", range.start(), grouped(*range.end(), 0));
        let number = self.optional_whole_number(name, label, range)?;
        self.required(name, label, &hint, number)
    }

    /// A whole number in a range; may be blank.
    pub fn optional_whole_number(
        &mut self,
        name: &str,
        label: &str,
        range: RangeInclusive<i64>,
    ) -> Option<Option<i64>> {
        let kind = Kind { what: "a number", example: "12", most: grouped(*range.end(), 0) };
        let number = self.figure(name, label, &kind, |text| parse_fixed(&tidy_typed(text), 0, i64::MAX))?;
        if let Some(n) = number.filter(|n| !range.contains(n)) {
            let (least, most) = (range.start(), grouped(*range.end(), 0));
            self.problem(
                name,
                format!("{label}: {} is out of range. Write a number from {least} to {most}.", grouped(n, 0)),
            );
            return None;
        }
        Some(number)
    }

    fn figure<T>(
        &mut self,
        name: &str,
        label: &str,
        kind: &Kind,
        parse: impl Fn(&str) -> Result<T, BadFigure>,
    ) -> Option<Option<T>> {
        let typed = self.line(name);
        if typed.is_empty() {
            return Some(None);
        }
        match parse(&typed) {
            Ok(value) => Some(Some(value)),
            Err(why) => {
                self.problem(name, kind.says(label, &typed, why));
                None
            }
        }
    }

    fn required<T>(&mut self, name: &str, label: &str, how: &str, value: Option<T>) -> Option<T> {
        if value.is_none() {
            self.problem(name, format!("{label} is empty. {how}"));
        }
        value
    }
}
