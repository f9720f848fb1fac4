//! Whether the shares sold of an offering fit on its head, and what is left to sell.
//!
//! A whole takes two sides, a half one, two split quarters one, and one fore with one hind quarter one. A side is never mixed
//! of split and fore-or-hind quarters, so an odd quarter keeps its side to itself until its other half is sold:
//! sides = 2 × wholes + halves + ⌈split ÷ 2⌉ + max(fore, hind), and they fit exactly when that is at most two a head.

use super::share::{Part, Size};

/// How many shares of each kind are sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sold {
    /// Whole animals.
    pub whole: i64,
    /// Halves.
    pub half: i64,
    /// Split quarters.
    pub split: i64,
    /// Forequarters.
    pub fore: i64,
    /// Hindquarters.
    pub hind: i64,
}

impl Sold {
    /// Counts shares; a quarter without a part is a split one.
    pub fn count(shares: impl IntoIterator<Item = (Size, Option<Part>)>) -> Self {
        shares.into_iter().fold(Self::default(), |sold, (size, part)| sold.and(size, part, 1))
    }
    /// With `more` shares of one kind.
    #[must_use]
    pub const fn and(mut self, size: Size, part: Option<Part>, more: i64) -> Self {
        let slot = match (size, part) {
            (Size::Whole, _) => &mut self.whole,
            (Size::Half, _) => &mut self.half,
            (Size::Quarter, None | Some(Part::Split)) => &mut self.split,
            (Size::Quarter, Some(Part::Fore)) => &mut self.fore,
            (Size::Quarter, Some(Part::Hind)) => &mut self.hind,
        };
        *slot = slot.saturating_add(more);
        self
    }
    /// Sides they need.
    pub fn sides(self) -> i64 {
        let pairs = self.split.saturating_add(1) / 2;
        self.whole
            .saturating_mul(2)
            .saturating_add(self.half)
            .saturating_add(pairs)
            .saturating_add(self.fore.max(self.hind))
    }
    /// Whether they fit on that many head.
    pub fn fits(self, head: i64) -> bool {
        self.sides() <= head.saturating_mul(2)
    }
}

/// How many more shares of one kind could still be sold, were nothing else sold meanwhile; 0 when none or oversold.
pub fn left(head: i64, sold: Sold, size: Size, part: Option<Part>) -> i64 {
    let free = head.saturating_mul(2).saturating_sub(sold.sides());
    if free < 0 {
        return 0;
    }
    match (size, part) {
        (Size::Whole, _) => free / 2,
        (Size::Half, _) => free,
        (Size::Quarter, None | Some(Part::Split)) => 2 * free + sold.split % 2,
        (Size::Quarter, Some(Part::Fore)) => free + (sold.hind - sold.fore).max(0),
        (Size::Quarter, Some(Part::Hind)) => free + (sold.fore - sold.hind).max(0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn an_odd_quarter_keeps_its_side() {
        let sold = Sold::count([(Size::Half, None), (Size::Quarter, Some(Part::Split)), (Size::Quarter, None)]);
        assert_eq!(sold.sides(), 2);
        let odd = Sold { split: 1, ..Sold::default() };
        assert_eq!(left(1, odd, Size::Quarter, None), 3);
        assert_eq!(left(1, odd, Size::Half, None), 1);
        assert_eq!(left(1, odd, Size::Whole, None), 0);
        let fore = Sold { fore: 2, ..Sold::default() };
        assert_eq!(left(1, fore, Size::Quarter, Some(Part::Hind)), 2);
        assert_eq!(left(1, fore, Size::Quarter, Some(Part::Fore)), 0);
        assert_eq!(left(0, fore, Size::Quarter, Some(Part::Hind)), 0, "oversold");
    }

    fn kinds() -> Vec<(Size, Option<Part>)> {
        let quarter = |part| (Size::Quarter, Some(part));
        vec![(Size::Whole, None), (Size::Half, None), quarter(Part::Split), quarter(Part::Fore), quarter(Part::Hind)]
    }

    proptest! {
        #[test]
        fn what_is_left_is_exactly_what_still_fits(head in 0_i64..6, whole in 0_i64..3, half in 0_i64..5, split in 0_i64..7, fore in 0_i64..5, hind in 0_i64..5) {
            let sold = Sold { whole, half, split, fore, hind };
            for (size, part) in kinds() {
                let left = left(head, sold, size, part);
                if left > 0 || sold.fits(head) {
                    prop_assert!(sold.and(size, part, left).fits(head));
                }
                prop_assert!(!sold.and(size, part, left + 1).fits(head));
            }
        }

        /// The formula against hanging the shares on real carcasses one by one, wholes first, so that no pair is broken.
        #[test]
        fn the_formula_agrees_with_hanging_them(head in 0_usize..4, whole in 0_i64..3, half in 0_i64..4, split in 0_i64..5, fore in 0_i64..4, hind in 0_i64..4) {
            use crate::trade::carcass::Place;
            use crate::trade::share::Side;
            let mut rails: Vec<Vec<Place>> = vec![Vec::new(); head];
            let wanted = [(whole, vec![Place::Whole]), (half, [Side::Left, Side::Right].map(Place::Half).to_vec())].into_iter()
                .chain([(split, Part::Split), (fore, Part::Fore), (hind, Part::Hind)].map(|(n, part)| {
                    (n, [Side::Left, Side::Right].map(|side| Place::Quarter(side, part)).to_vec())
                }));
            let mut all_hang = true;
            for (count, places) in wanted {
                for _ in 0..count {
                    // A side already begun is preferred to an empty one.
                    let mut choices: Vec<_> = (0..rails.len()).flat_map(|i| places.iter().map(move |p| (i, *p)))
                        .filter(|(i, p)| p.fits_beside(&rails[*i])).collect();
                    choices.sort_by_key(|(i, p)| match p {
                        Place::Quarter(side, _) => !rails[*i].iter().any(|t| t.is_on(*side)),
                        _ => false,
                    });
                    match choices.first() {
                        Some((i, place)) => rails[*i].push(*place),
                        None => all_hang = false,
                    }
                }
            }
            let sold = Sold { whole, half, split, fore, hind };
            prop_assert_eq!(all_hang, sold.fits(head as i64));
        }
    }
}
