//! Ten criteria in two numbers: losses in fields wide enough never to run into each other, the first criterion on top.
//!
//! Everything is a loss (what counts as a gain is counted as what is missing), so sums of parts compare as the criteria do.

use std::ops::{Add, AddAssign, Sub};

/// A loss. `hi` holds the criteria from paid to opened, `lo` the weights, the half-filled sides and the sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Hash)]
pub(super) struct Cost {
    pub(super) hi: i128,
    pub(super) lo: i64,
    pub(super) sheets: i64,
}

// Widths by the limits of a problem (1,000 heads, 1,000 reservations): paid and unpaid are at most 4 × Σ 1..1,000 =
// 2,002,000 < 2^24; moved and groups ≤ 1,000 < 2^11; unsold ≤ 4,000 < 2^13; date rank ≤ 4 × 1,000 × 1,000 < 2^23;
// opened ≤ 1,000 < 2^10. Together 115 bits; prices multiply by four (2 bits) and stay inside 127.
const OPENED: i128 = 1;
const DATE_RANK: i128 = OPENED << 10;
const GROUPS: i128 = DATE_RANK << 23;
const UNSOLD: i128 = GROUPS << 11;
const MOVED: i128 = UNSOLD << 13;
const UNPAID: i128 = MOVED << 11;
const PAID: i128 = UNPAID << 24;
// Half-filled sides ≤ 2,000 < 2^11; weights ≤ 1,000 × 9,999,999 < 2^34.
const HALF: i64 = 1;
const WEIGHT: i64 = HALF << 11;

impl Cost {
    pub(super) const ZERO: Self = Self { hi: 0, lo: 0, sheets: 0 };
    /// More than any plan loses.
    pub(super) const NEVER: Self = Self { hi: 1 << 120, lo: 0, sheets: 0 };

    pub(super) const fn paid(n: i64) -> Self {
        Self { hi: PAID * n as i128, ..Self::ZERO }
    }
    pub(super) const fn unpaid(n: i64) -> Self {
        Self { hi: UNPAID * n as i128, ..Self::ZERO }
    }
    pub(super) const fn moved(n: i64) -> Self {
        Self { hi: MOVED * n as i128, ..Self::ZERO }
    }
    pub(super) const fn unsold(n: i64) -> Self {
        Self { hi: UNSOLD * n as i128, ..Self::ZERO }
    }
    pub(super) const fn groups(n: i64) -> Self {
        Self { hi: GROUPS * n as i128, ..Self::ZERO }
    }
    pub(super) const fn date_rank(n: i64) -> Self {
        Self { hi: DATE_RANK * n as i128, ..Self::ZERO }
    }
    pub(super) const fn opened(n: i64) -> Self {
        Self { hi: OPENED * n as i128, ..Self::ZERO }
    }
    pub(super) const fn weight(n: i64) -> Self {
        Self { lo: WEIGHT * n, ..Self::ZERO }
    }
    pub(super) const fn half(n: i64) -> Self {
        Self { lo: HALF * n, ..Self::ZERO }
    }
    pub(super) const fn sheets(n: i64) -> Self {
        Self { sheets: n, ..Self::ZERO }
    }
    pub(super) const fn is_never(&self) -> bool {
        self.hi >= Self::NEVER.hi / 2
    }
    /// The most that may be lost when nothing more is lost from the first criterion to the unsold quarters.
    pub(super) const fn same_promises(self) -> Self {
        Self { hi: self.hi / UNSOLD * UNSOLD + (UNSOLD - 1), lo: i64::MAX / 4, sheets: i64::MAX / 4 }
    }
    /// The most that may be lost when no more is lost of paid and unpaid promises.
    pub(super) const fn same_sales(self) -> Self {
        Self { hi: self.hi / UNPAID * UNPAID + (UNPAID - 1), lo: i64::MAX / 4, sheets: i64::MAX / 4 }
    }
    /// The ten losses in the order of the criteria.
    pub(super) const fn fields(&self) -> [i64; 10] {
        let hi = self.hi;
        [
            (hi / PAID) as i64,
            (hi % PAID / UNPAID) as i64,
            (hi % UNPAID / MOVED) as i64,
            (hi % MOVED / UNSOLD) as i64,
            (hi % UNSOLD / GROUPS) as i64,
            (hi % GROUPS / DATE_RANK) as i64,
            (hi % DATE_RANK / OPENED) as i64,
            self.lo / WEIGHT,
            self.lo % WEIGHT,
            self.sheets,
        ]
    }
}

impl Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { hi: self.hi + other.hi, lo: self.lo + other.lo, sheets: self.sheets + other.sheets }
    }
}

impl Sub for Cost {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { hi: self.hi - other.hi, lo: self.lo - other.lo, sheets: self.sheets - other.sheets }
    }
}

impl AddAssign for Cost {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_come_back_as_they_went_in() {
        let cost = Cost::paid(2_002_000)
            + Cost::unpaid(1)
            + Cost::moved(1000)
            + Cost::unsold(4000)
            + Cost::groups(500)
            + Cost::date_rank(4_000_000)
            + Cost::opened(1000)
            + Cost::weight(9_999_999_000)
            + Cost::half(2000)
            + Cost::sheets(500_000);
        assert_eq!(cost.fields(), [2_002_000, 1, 1000, 4000, 500, 4_000_000, 1000, 9_999_999_000, 2000, 500_000]);
        assert!(cost < Cost::NEVER && Cost::paid(1) > Cost::unpaid(2_002_000));
        assert!(Cost::moved(1) > Cost::unsold(4000) && Cost::weight(1) > Cost::half(2000));
    }
}
