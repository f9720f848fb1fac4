//! How a carcass's hanging weight is divided among the shares of it, to the hundredth.
//!
//! Two steps, each adding up exactly. First the two sides: as they were weighed, or half the total each, where the left
//! takes an odd hundredth. Then each side among its places by largest remainder, ties in the order of the list, sold places
//! before unsold ones. What nobody has bought is left over as `unsold`, so `billed + unsold = total` always.

use super::money::Overflow;
use super::share::{Part, Side, Size};
use super::split::by_largest_remainder;
use super::weight::Weight;

crate::words! {
    /// How a carcass is divided: a farm's choice, kept for all its animals.
    pub enum SplitBasis {
        /// Every share pays for the side or quarter it hangs on.
        AsHung = "as_hung", "as it hung: each share pays its own side or quarter";
        /// Each side is half the total and any quarter half of that, whatever the scale said of the sides.
        Even = "even", "evenly: a half pays half of the total, a quarter a fourth";
    }
}

crate::words! {
    /// Where a billed weight comes from, so that a customer can reckon it again.
    pub enum Origin {
        /// A whole animal: everything that hung.
        Total = "total", "whole carcass";
        /// A half whose side was weighed, alone or as two quarters.
        OwnSide = "own_side", "side as weighed";
        /// A half of which only the total is known, or that is split evenly.
        HalfOfTotal = "half_of_total", "half of the total";
        /// A split quarter of a weighed side.
        HalfOfSide = "half_of_side", "half of the side as weighed";
        /// A quarter of which only the total is known, or that is split evenly.
        QuarterOfTotal = "quarter_of_total", "quarter of the total";
        /// A fore or hind quarter that was weighed itself.
        OwnQuarter = "own_quarter", "quarter as weighed";
        /// A fore quarter reckoned as 55 % of its side.
        EstimatedFore = "estimated_fore", "55 % of the side, forequarter not weighed";
        /// A hind quarter reckoned as 45 % of its side.
        EstimatedHind = "estimated_hind", "45 % of the side, hindquarter not weighed";
    }
}

/// Per cent of a side in its forequarter when the quarters were not weighed (Purdue Extension, Lemenager, "Amount of
/// Freezer Beef Expected from a Carcass"). Oklahoma State No. 617 says 50; the farm's invoice shows that it is an estimate.
pub const FORE_PERCENT: i64 = 55;
/// Per cent of a side in its hindquarter; same source.
pub const HIND_PERCENT: i64 = 45;

/// What the scale said, in one of the three ways plants report it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hung {
    /// One weight for the carcass.
    Total(Weight),
    /// Both sides.
    Sides {
        /// Left side.
        left: Weight,
        /// Right side.
        right: Weight,
    },
    /// All four quarters.
    Quarters {
        /// Left forequarter.
        left_fore: Weight,
        /// Left hindquarter.
        left_hind: Weight,
        /// Right forequarter.
        right_fore: Weight,
        /// Right hindquarter.
        right_hind: Weight,
    },
}

impl Hung {
    /// Everything that hung.
    ///
    /// # Errors
    /// [`Overflow`] when the parts add up to more than a weight can be.
    pub fn total(self) -> Result<Weight, Overflow> {
        match self {
            Self::Total(total) => Ok(total),
            Self::Sides { left, right } => left.plus(right),
            Self::Quarters { left_fore, left_hind, right_fore, right_hind } => {
                Weight::sum([left_fore, left_hind, right_fore, right_hind])
            }
        }
    }
    /// One side as weighed, `None` when only the total is known.
    ///
    /// # Errors
    /// [`Overflow`] when its quarters add up to more than a weight can be.
    pub fn side(self, side: Side) -> Result<Option<Weight>, Overflow> {
        match (self, side) {
            (Self::Total(_), _) => Ok(None),
            (Self::Sides { left, .. }, Side::Left) => Ok(Some(left)),
            (Self::Sides { right, .. }, Side::Right) => Ok(Some(right)),
            (Self::Quarters { left_fore, left_hind, .. }, Side::Left) => left_fore.plus(left_hind).map(Some),
            (Self::Quarters { right_fore, right_hind, .. }, Side::Right) => right_fore.plus(right_hind).map(Some),
        }
    }
    /// One quarter as weighed, `None` when it was not weighed itself.
    const fn quarter(self, side: Side, part: Part) -> Option<Weight> {
        match (self, side, part) {
            (Self::Quarters { left_fore, .. }, Side::Left, Part::Fore) => Some(left_fore),
            (Self::Quarters { left_hind, .. }, Side::Left, Part::Hind) => Some(left_hind),
            (Self::Quarters { right_fore, .. }, Side::Right, Part::Fore) => Some(right_fore),
            (Self::Quarters { right_hind, .. }, Side::Right, Part::Hind) => Some(right_hind),
            _ => None,
        }
    }
}

/// Where on a carcass a share hangs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Both sides.
    Whole,
    /// One side.
    Half(Side),
    /// Half of one side.
    Quarter(Side, Part),
}

impl Place {
    /// How much of the animal it is.
    pub const fn size(self) -> Size {
        match self {
            Self::Whole => Size::Whole,
            Self::Half(_) => Size::Half,
            Self::Quarter(..) => Size::Quarter,
        }
    }
    /// Whether any of it hangs on that side.
    pub fn is_on(self, side: Side) -> bool {
        match self {
            Self::Whole => true,
            Self::Half(own) | Self::Quarter(own, _) => own == side,
        }
    }
    /// Whether it can hang beside what is already there: a side takes one half, or two split quarters, or one fore and one
    /// hind; a whole animal takes everything.
    pub fn fits_beside(self, taken: &[Self]) -> bool {
        match self {
            Self::Whole => taken.is_empty(),
            Self::Half(side) => !taken.iter().any(|t| t.is_on(side)),
            Self::Quarter(side, part) => {
                let on: Vec<_> = taken.iter().filter(|t| t.is_on(side)).collect();
                on.len() < 2
                    && on.iter().all(|t| match t {
                        Self::Quarter(_, other) => matches!(
                            (part, other),
                            (Part::Split, Part::Split) | (Part::Fore, Part::Hind) | (Part::Hind, Part::Fore)
                        ),
                        Self::Whole | Self::Half(_) => false,
                    })
            }
        }
    }
}

/// One share of a carcass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim<Id> {
    /// Whose it is; an id may stand in the list once.
    pub id: Id,
    /// Where it hangs.
    pub place: Place,
}

/// What one share pays for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Billed<Id> {
    /// Whose it is.
    pub id: Id,
    /// Its hanging weight.
    pub weight: Weight,
    /// Whether it is a fore or hind quarter that was not weighed itself.
    pub estimated: bool,
    /// Where the weight comes from.
    pub origin: Origin,
}

/// A carcass divided; `billed + unsold = total`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Division<Id> {
    /// In the order of the claims.
    pub shares: Vec<Billed<Id>>,
    /// What the shares add up to.
    pub billed: Weight,
    /// What nobody has bought.
    pub unsold: Weight,
    /// Everything that hung.
    pub total: Weight,
}

/// Why a carcass cannot be divided so. `share` counts from 0 in the list of claims.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "each field is explained by the message")]
pub enum CarcassError {
    #[error("This share’s id is already in the list. Give every share its own id")]
    RepeatedId { share: usize },
    #[error("A whole animal cannot be shared. Take it, or the other shares, out of the list")]
    WholeWithOthers { share: usize },
    #[error(
        "There is no room for this share on the {side} side. A side takes one half, or two split quarters, or one fore and one hind quarter"
    )]
    NoRoom { share: usize, side: Side },
    #[error("The carcass weighs nothing. Give its hanging weight")]
    Nothing,
    #[error("The carcass weighs more than can be recorded (99,999.99)")]
    TooHeavy,
}

impl From<Overflow> for CarcassError {
    fn from(_: Overflow) -> Self {
        Self::TooHeavy
    }
}

/// Divides a carcass among its shares.
///
/// # Errors
/// [`CarcassError`] for repeated ids, shares there is no room for, and a carcass of zero.
pub fn divide<Id: Clone + PartialEq>(
    hung: Hung,
    basis: SplitBasis,
    claims: &[Claim<Id>],
) -> Result<Division<Id>, CarcassError> {
    check(claims)?;
    let total = hung.total()?;
    if total.is_zero() {
        return Err(CarcassError::Nothing);
    }
    // The left side takes an odd hundredth.
    let right_half = total.hundredths() / 2;
    let left_half = total.hundredths() - right_half;
    let mut weights = vec![0_i64; claims.len()];
    for (side, half) in [(Side::Left, left_half), (Side::Right, right_half)] {
        let weight = match basis {
            SplitBasis::AsHung => hung.side(side)?.map_or(half, Weight::hundredths),
            SplitBasis::Even => half,
        };
        for (own, dealt) in weights.iter_mut().zip(deal_side(hung, basis, side, weight, claims)) {
            *own += dealt;
        }
    }
    let shares: Vec<_> = claims
        .iter()
        .zip(&weights)
        .map(|(claim, weight)| {
            let origin = origin(hung, basis, claim.place);
            Billed {
                id: claim.id.clone(),
                weight: Weight::from_hundredths(*weight),
                estimated: matches!(origin, Origin::EstimatedFore | Origin::EstimatedHind),
                origin,
            }
        })
        .collect();
    let billed = Weight::sum(shares.iter().map(|s| s.weight))?;
    let unsold = Weight::from_hundredths(total.hundredths() - billed.hundredths());
    Ok(Division { shares, billed, unsold, total })
}

fn check<Id: PartialEq>(claims: &[Claim<Id>]) -> Result<(), CarcassError> {
    let mut seen: Vec<&Id> = Vec::new();
    let mut taken: Vec<Place> = Vec::new();
    for (share, claim) in claims.iter().enumerate() {
        if seen.contains(&&claim.id) {
            return Err(CarcassError::RepeatedId { share });
        }
        if !claim.place.fits_beside(&taken) {
            return Err(match claim.place {
                Place::Half(side) | Place::Quarter(side, _) if !taken.contains(&Place::Whole) => {
                    CarcassError::NoRoom { share, side }
                }
                _ => CarcassError::WholeWithOthers { share },
            });
        }
        seen.push(&claim.id);
        taken.push(claim.place);
    }
    Ok(())
}

/// What each claim gets of one side: the side's places, sold first in the order of the list, then unsold.
fn deal_side<Id>(hung: Hung, basis: SplitBasis, side: Side, weight: i64, claims: &[Claim<Id>]) -> Vec<i64> {
    let ratio = |part: Part| match (basis, part) {
        (SplitBasis::Even, _) | (_, Part::Split) => 1,
        (SplitBasis::AsHung, Part::Fore) => hung.quarter(side, part).map_or(FORE_PERCENT, Weight::hundredths),
        (SplitBasis::AsHung, Part::Hind) => hung.quarter(side, part).map_or(HIND_PERCENT, Weight::hundredths),
    };
    let sold: Vec<_> =
        claims.iter().enumerate().filter(|(_, c)| c.place.is_on(side)).map(|(i, c)| (i, c.place)).collect();
    let mut ratios: Vec<i64> = sold
        .iter()
        .map(|(_, place)| match place {
            Place::Whole | Place::Half(_) => 1,
            Place::Quarter(_, part) => ratio(*part),
        })
        .collect();
    // One quarter alone leaves its other half unsold.
    if let [(_, Place::Quarter(_, part))] = sold.as_slice() {
        ratios.push(ratio(match part {
            Part::Split => Part::Split,
            Part::Fore => Part::Hind,
            Part::Hind => Part::Fore,
        }));
    }
    // Only a side that weighs nothing has no ratio to go by; then every place on it gets nothing.
    let dealt = by_largest_remainder(weight, &ratios).unwrap_or_default();
    let mut own = vec![0; claims.len()];
    for ((i, _), part) in sold.iter().zip(dealt) {
        if let Some(slot) = own.get_mut(*i) {
            *slot = part;
        }
    }
    own
}

fn origin(hung: Hung, basis: SplitBasis, place: Place) -> Origin {
    let sides_weighed = basis == SplitBasis::AsHung && !matches!(hung, Hung::Total(_));
    match place {
        Place::Whole => Origin::Total,
        Place::Half(_) if sides_weighed => Origin::OwnSide,
        Place::Half(_) => Origin::HalfOfTotal,
        Place::Quarter(_, Part::Split) if sides_weighed => Origin::HalfOfSide,
        Place::Quarter(_, Part::Fore | Part::Hind) if basis == SplitBasis::AsHung => match (hung, place) {
            (Hung::Quarters { .. }, _) => Origin::OwnQuarter,
            (_, Place::Quarter(_, Part::Fore)) => Origin::EstimatedFore,
            _ => Origin::EstimatedHind,
        },
        Place::Quarter(..) => Origin::QuarterOfTotal,
    }
}

#[cfg(test)]
#[path = "carcass_tests.rs"]
mod tests;
