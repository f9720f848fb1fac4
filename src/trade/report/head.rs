//! One animal: what it hung, what it brought, and what it left over when its costs are known.

use super::tenths;
use crate::trade::money::Money;
use crate::trade::weight::Weight;

/// Figures of one animal, or of several together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Head {
    /// Live weight in hundredths, where it and the hanging weight are known.
    pub live: i64,
    /// Hanging weight in hundredths of those of which the live weight is known.
    pub hung_of_live: i64,
    /// Hanging weight in hundredths.
    pub hung: i64,
    /// Invoiced weight in hundredths.
    pub billed: i64,
    /// Sales in cents.
    pub sales: i64,
    /// Charges less discounts in cents.
    pub other: i64,
    /// Costs in cents, where any were entered.
    pub costs: Option<i64>,
    /// Shares that were invoiced without a weight.
    pub unweighed: i64,
}

impl Head {
    /// One animal.
    pub fn new(live: Option<Weight>, hung: Option<Weight>) -> Self {
        let n = |w: Weight| w.hundredths();
        let both = live.filter(|w| !w.is_zero()).zip(hung);
        Self {
            live: both.map_or(0, |(l, _)| n(l)),
            hung_of_live: both.map_or(0, |(_, h)| n(h)),
            hung: hung.map_or(0, n),
            ..Self::default()
        }
    }
    /// Both together. Costs of one alone are not the costs of both, and so none.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let add = i64::saturating_add;
        Self {
            live: add(self.live, other.live),
            hung_of_live: add(self.hung_of_live, other.hung_of_live),
            hung: add(self.hung, other.hung),
            billed: add(self.billed, other.billed),
            sales: add(self.sales, other.sales),
            other: add(self.other, other.other),
            costs: self.costs.zip(other.costs).map(|(a, b)| add(a, b)),
            unweighed: add(self.unweighed, other.unweighed),
        }
    }
    /// Hanging weight in tenths of one per cent of live weight.
    pub fn dressing(&self) -> Option<i64> {
        tenths(self.hung_of_live, self.live)
    }
    /// Sales for each unit of invoiced weight, to the cent.
    pub fn price(&self) -> Option<Money> {
        if self.unweighed == 0 && self.billed > 0 {
            super::per_unit_shown(Money::from_cents(self.sales), Weight::from_hundredths(self.billed))
        } else {
            None
        }
    }
    /// Everything it brought, in cents.
    pub const fn income(&self) -> i64 {
        self.sales.saturating_add(self.other)
    }
    /// Income less costs, where they are known, in cents.
    pub fn margin(&self) -> Option<i64> {
        self.costs.map(|costs| self.income().saturating_sub(costs))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_animal_by_hand() {
        let lb = |text: &str| Some(Weight::parse(text).unwrap());
        let mut one = Head::new(lb("1290"), lb("769.5"));
        (one.billed, one.sales, one.other) = (76_950, 357_818, 4_501);
        // 769.50 ÷ 1,290 = 59.65 %; 3,578.18 ÷ 769.50 = 4.65.
        assert_eq!(one.dressing(), Some(597));
        assert_eq!(one.price().unwrap().plain(), "4.65");
        assert_eq!((one.income(), one.margin()), (362_319, None));
        let costed = Head { costs: Some(300_000), ..one };
        assert_eq!(costed.margin(), Some(62_319));
        let unknown = Head::new(None, lb("700"));
        assert_eq!(unknown.dressing(), None);
        let both = costed.plus(&unknown);
        assert_eq!((both.dressing(), both.hung), (Some(597), 146_950), "what was not weighed alive does not count");
        assert_eq!(both.margin(), None, "the costs of one are not those of both");
        assert_eq!(Head { unweighed: 1, ..one }.price(), None);
    }
}
