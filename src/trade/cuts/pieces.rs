//! How many pieces a cut gives, and how many packs.

use super::catalogue::Count;
use super::figure::Figure;
use super::mass::CutMass;
use super::settings::Settings;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// A number of pieces in quarters of one: a share that is half of a side gets half of an odd piece, to be dealt out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Quarters(pub i64);

impl Quarters {
    /// `n` whole pieces.
    pub const fn whole(n: i64) -> Self {
        Self(n.saturating_mul(4))
    }
    /// As a decimal, such as 6.5.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0.saturating_mul(25), 2).normalize()
    }
    /// Packs of `each` pieces, the last one perhaps not full.
    pub const fn packs(self, each: i64) -> i64 {
        let full = if each < 1 { 4 } else { each.saturating_mul(4) };
        self.0.saturating_add(full - 1) / full
    }
}

/// The pieces of a cut in a share of `quarters` (4 is the whole animal) that weighs `lb`; `None` if it is not counted.
pub fn pieces(
    cut: &CutMass<'_>,
    settings: &Settings<'_>,
    kerf: Figure,
    lb: Decimal,
    quarters: i64,
) -> Option<Quarters> {
    let share_of_side = (i64::from(cut.pieces), i64::from(cut.block.count()));
    let side = lb.checked_mul(Decimal::TWO)?.checked_div(Decimal::from(quarters))?;
    let per_side = pieces_on_side(&cut.cut.count, share_of_side, settings, kerf, side)?;
    Some(Quarters(per_side.0.checked_mul(quarters)? / 2))
}

/// The pieces of a cut on one side, which takes `share` (so many of so many pieces) of its block and weighs `lb`; `None` if it is
/// not counted.
pub fn pieces_on_side(
    count: &Count,
    share: (i64, i64),
    settings: &Settings<'_>,
    kerf: Figure,
    lb: Decimal,
) -> Option<Quarters> {
    let quarters = match count {
        Count::Slice { length, thickness, .. } => 4 * slices(*length, share, settings.figure(thickness)?, kerf),
        Count::DoubleSlice { length, thickness, .. } => 2 * slices(*length, share, settings.figure(thickness)?, kerf),
        // Of a part of the block there are fewer, or smaller ones, but at least one.
        Count::Piece { number, .. } => {
            let (pieces, of) = (share.0.saturating_mul(i64::from(*number)), share.1.max(1));
            4 * (pieces.saturating_add(of - 1) / of).max(1)
        }
        Count::HalfPiece => 2,
        Count::Bone => 4 * share.0,
        Count::Roast => 4 * roasts(lb, settings.figure("roast_lb")?.decimal()),
        Count::Weight { .. } | Count::Joined => return None,
    };
    Some(Quarters(quarters))
}

/// Slices from a length: what is left over after the last full one goes to trim. At least 1.
fn slices(length: Figure, (pieces, of): (i64, i64), thickness: Figure, kerf: Figure) -> i64 {
    let each = thickness.ten_thousandths().saturating_add(kerf.ten_thousandths()).max(1);
    (length.ten_thousandths().saturating_mul(pieces) / of.max(1).saturating_mul(each)).max(1)
}

/// Roasts of a weight: what is left over is a roast of its own from six tenths of the weight on. At least 1.
pub fn roasts(lb: Decimal, each: Decimal) -> i64 {
    let whole = lb.checked_div(each).unwrap_or_default();
    let full = whole.floor();
    let rest = whole - full;
    (full.to_i64().unwrap_or(0) + i64::from(rest >= Decimal::new(6, 1))).max(1)
}

/// Packs of a cut.
pub fn packages(count: &Count, pieces: Option<Quarters>, settings: &Settings<'_>, lb: Decimal) -> i64 {
    if lb.is_zero() {
        return 0;
    }
    match count {
        Count::Slice { pack, .. } | Count::DoubleSlice { pack, .. } | Count::Piece { pack: Some(pack), .. } => {
            pieces.map_or(0, |p| p.packs(settings.whole(pack).unwrap_or(1)))
        }
        Count::Weight { pack } => by_weight(lb, settings.figure(pack)),
        Count::Piece { pack: None, .. } | Count::HalfPiece | Count::Bone | Count::Roast => {
            pieces.map_or(0, |p| p.packs(1))
        }
        Count::Joined => 0,
    }
}

/// Packs of so many pounds, the last one perhaps not full.
pub fn by_weight(lb: Decimal, pack: Option<Figure>) -> i64 {
    let pack = pack.filter(|p| *p > Figure::ZERO).unwrap_or(Figure::whole(1)).decimal();
    lb.checked_div(pack).map_or(0, |n| n.ceil().to_i64().unwrap_or(0))
}

/// The parameter that says how many pieces lie in a pack.
pub fn pack_of(count: &Count) -> Option<&str> {
    match count {
        Count::Slice { pack, .. } | Count::DoubleSlice { pack, .. } | Count::Piece { pack: Some(pack), .. } => {
            Some(pack)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(text: &str) -> Figure {
        Figure::parse(text).unwrap()
    }

    #[test]
    fn slices_are_the_length_over_thickness_and_saw() {
        // The table of piece counts in the notes: beef rib 13.5 in, short loin 15, pork loin 18, lamb rack 8.
        for (length, thick, n) in [
            ("13.5", "0.75", 16),
            ("13.5", "1", 12),
            ("13.5", "1.25", 10),
            ("13.5", "1.5", 8),
            ("15", "0.75", 18),
            ("15", "1", 14),
            ("15", "1.25", 11),
            ("15", "1.5", 9),
            ("11", "1", 10),
            ("18", "0.75", 22),
            ("18", "1", 16),
            ("8", "1", 7),
            ("7.5", "0.75", 9),
            ("7.5", "1", 7),
        ] {
            assert_eq!(slices(figure(length), (1, 1), figure(thick), figure("0.0625")), n, "{length} at {thick}");
        }
        assert_eq!(slices(figure("13.5"), (3, 7), figure("1"), figure("0.0625")), 5);
    }

    #[test]
    fn a_small_rest_joins_the_last_roast() {
        let n = |lb: &str| roasts(figure(lb).decimal(), figure("3").decimal());
        assert_eq!([n("9"), n("10.79"), n("10.8"), n("2"), n("0.5")], [3, 3, 4, 1, 1]);
    }

    #[test]
    fn packs_are_rounded_up() {
        assert_eq!([Quarters(26).packs(2), Quarters::whole(14).packs(4), Quarters(1).packs(1)], [4, 4, 1]);
        assert_eq!(Quarters(26).decimal().to_string(), "6.5");
        assert_eq!(Quarters::whole(14).decimal().to_string(), "14");
    }
}
