//! What was sold: shares, weight and amount by species and size of share.
//!
//! An invoice counts on the day it was issued, and one that was voided is taken off on the day of its credit note; so the
//! figures of years add up, whatever was corrected in between.

use super::period::Period;
use crate::trade::money::Money;
use crate::trade::share::{Size, Species};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// An invoice as it was issued, or as it was voided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// The invoice in the book.
    pub invoice: i64,
    /// The day it counts for.
    pub day: NaiveDate,
    /// Voided: takes off what the invoice added.
    pub back: bool,
    /// Of what.
    pub species: Species,
    /// How much of an animal.
    pub size: Size,
    /// The season of its order.
    pub season: String,
    /// Its billed weight, if it was billed by weight.
    pub weight: Option<Weight>,
}

impl Document {
    /// 1 for a share sold, −1 for one taken back.
    pub const fn count(&self) -> i64 {
        if self.back { -1 } else { 1 }
    }
    /// Its weight in hundredths, negative when it was taken back.
    pub fn hundredths(&self) -> i64 {
        self.count().saturating_mul(self.weight.map_or(0, Weight::hundredths))
    }
}

/// What was sold of something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sold {
    /// Shares.
    pub shares: i64,
    /// Billed weight in hundredths of the unit.
    pub weight: i64,
    /// Amount in cents, without charges and tax.
    pub amount: i64,
    /// Shares that were billed without a weight, so that the price per unit says nothing.
    pub unweighed: i64,
}

impl Sold {
    /// Both together.
    #[must_use]
    pub const fn plus(&self, other: &Self) -> Self {
        Self {
            shares: self.shares.saturating_add(other.shares),
            weight: self.weight.saturating_add(other.weight),
            amount: self.amount.saturating_add(other.amount),
            unweighed: self.unweighed.saturating_add(other.unweighed),
        }
    }
    /// The amount for each unit of weight, to the cent; `None` where nothing was weighed or something was not.
    pub fn price(&self) -> Option<Money> {
        let weight = Weight::from_hundredths(self.weight);
        if self.unweighed == 0 && self.weight > 0 {
            super::per_unit_shown(Money::from_cents(self.amount), weight)
        } else {
            None
        }
    }
}

/// What was sold by species and size: documents that belong to the period, and amounts in cents as the ledger has them.
pub fn sold(
    documents: &[Document],
    amounts: &[(Species, Size, i64)],
    period: &Period,
) -> BTreeMap<(Species, Size), Sold> {
    let mut all: BTreeMap<(Species, Size), Sold> = BTreeMap::new();
    for d in documents.iter().filter(|d| period.holds(d.day, &d.season)) {
        let unweighed = if d.weight.is_none() { d.count() } else { 0 };
        let one = Sold { shares: d.count(), weight: d.hundredths(), amount: 0, unweighed };
        let sum = all.entry((d.species, d.size)).or_default();
        *sum = sum.plus(&one);
    }
    for (species, size, cents) in amounts {
        let sum = all.entry((*species, *size)).or_default();
        sum.amount = sum.amount.saturating_add(*cents);
    }
    all.retain(|_, s| *s != Sold::default());
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corrected_weight_counts_its_difference_in_the_later_year() {
        let one = |day: &str, back, weight| Document {
            invoice: 1,
            day: day.parse().unwrap(),
            back,
            species: Species::Hog,
            size: Size::Half,
            season: "Fall 2027".into(),
            weight: Some(Weight::from_hundredths(weight)),
        };
        let all = [one("2027-12-30", false, 8_250), one("2028-01-03", true, 8_250), one("2028-01-03", false, 8_000)];
        let key = (Species::Hog, Size::Half);
        let of = |period: &Period, cents| sold(&all, &[(Species::Hog, Size::Half, cents)], period).get(&key).copied();
        let whole = of(&Period::Season("Fall 2027".into()), 42_000).unwrap();
        assert_eq!((whole.shares, whole.weight), (1, 8_000));
        assert_eq!(whole.price().unwrap().plain(), "5.25");
        let first = of(&Period::Year(2027), 43_313).unwrap();
        let second = of(&Period::Year(2028), -1_313).unwrap();
        assert_eq!((first.shares, first.weight, second.shares, second.weight), (1, 8_250, 0, -250));
        assert_eq!(first.plus(&second), whole);
        assert_eq!(second.price(), None);
        assert_eq!(of(&Period::Year(2029), 0), None, "what is nothing is left out");
    }
}
