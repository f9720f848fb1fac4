//! A processor: head, what a carcass lost between hot and cold, and what came back packaged.

use super::tenths;
use crate::trade::weight::Weight;

/// Figures of one head, or of several together. Weights in hundredths of the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Head.
    pub head: i64,
    /// Head weighed hot and cold.
    pub twice: i64,
    /// Hot weight of those.
    pub hot: i64,
    /// Cold weight of those.
    pub cold: i64,
    /// Shares whose packaged weight was told.
    pub told: i64,
    /// Hanging weight of those.
    pub hung: i64,
    /// Packaged weight of those.
    pub packaged: i64,
}

impl Work {
    /// One head.
    pub fn new(hot: Option<Weight>, cold: Option<Weight>) -> Self {
        let (hot, cold) = hot.zip(cold).map_or((0, 0), |(h, c)| (h.hundredths(), c.hundredths()));
        Self { head: 1, twice: i64::from(hot > 0), hot, cold, ..Self::default() }
    }
    /// One share that came home.
    #[must_use]
    pub const fn share(mut self, hung: Weight, packaged: Weight) -> Self {
        self.told = self.told.saturating_add(1);
        self.hung = self.hung.saturating_add(hung.hundredths());
        self.packaged = self.packaged.saturating_add(packaged.hundredths());
        self
    }
    /// Both together.
    #[must_use]
    pub const fn plus(&self, other: &Self) -> Self {
        Self {
            head: self.head.saturating_add(other.head),
            twice: self.twice.saturating_add(other.twice),
            hot: self.hot.saturating_add(other.hot),
            cold: self.cold.saturating_add(other.cold),
            told: self.told.saturating_add(other.told),
            hung: self.hung.saturating_add(other.hung),
            packaged: self.packaged.saturating_add(other.packaged),
        }
    }
    /// What was lost between hot and cold, in tenths of one per cent of the hot weight.
    pub fn shrink(&self) -> Option<i64> {
        tenths(self.hot.saturating_sub(self.cold), self.hot)
    }
    /// What came back packaged, in tenths of one per cent of the hanging weight.
    pub fn yielded(&self) -> Option<i64> {
        tenths(self.packaged, self.hung)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_known_twice_counts() {
        let lb = |text: &str| Weight::parse(text).unwrap();
        let a = Work::new(Some(lb("800")), Some(lb("776"))).share(lb("400"), lb("260")).share(lb("400"), lb("270"));
        let b = Work::new(Some(lb("700")), None);
        let both = a.plus(&b);
        // 24 of 800 lost; 530 of 800 packaged.
        assert_eq!((both.head, both.twice, both.told), (2, 1, 2));
        assert_eq!((both.shrink(), both.yielded()), (Some(30), Some(663)));
        assert_eq!((b.shrink(), b.yielded()), (None, None));
    }
}
