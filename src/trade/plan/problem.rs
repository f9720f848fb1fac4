//! What is to be planned: animals with a date, and the reservations that want a share of one.

use crate::trade::share::{Side, Size, Species};
use crate::trade::weight::Weight;
use chrono::NaiveDate;

crate::words! {
    /// What of a carcass a share takes.
    pub enum Sides {
        /// The left side, or half of it.
        Left = "left", "left side";
        /// The right side, or half of it.
        Right = "right", "right side";
        /// Both sides: a whole.
        Both = "both", "both sides";
    }
}

impl Sides {
    /// One side.
    pub const fn of(side: Side) -> Self {
        match side {
            Side::Left => Self::Left,
            Side::Right => Self::Right,
        }
    }
    /// Quarters that a share of this size takes on the left and on the right; `None` when the size does not hang so.
    pub const fn quarters(self, size: Size) -> Option<[u8; 2]> {
        match (self, size) {
            (Self::Both, Size::Whole) => Some([2, 2]),
            (Self::Left, Size::Half) => Some([2, 0]),
            (Self::Right, Size::Half) => Some([0, 2]),
            (Self::Left, Size::Quarter) => Some([1, 0]),
            (Self::Right, Size::Quarter) => Some([0, 1]),
            _ => None,
        }
    }
}

/// An animal with a processing date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Its name in reasons and refusals; no other animal has it.
    pub id: String,
    /// Its species.
    pub species: Species,
    /// The day it is processed.
    pub date: NaiveDate,
    /// Who processes it.
    pub processor: String,
    /// Whether the processor is custom-exempt (9 CFR 303.1): what is not sold before slaughter cannot be sold.
    pub custom_exempt: bool,
    /// The first day a drug withdrawal allows; an animal with an earlier date gets nothing new.
    pub not_before: Option<NaiveDate>,
    /// Expected or known hanging weight; `None` when not known.
    pub hanging: Option<Weight>,
    /// Quarters that stand for others than the reservations listed, left and right; 0 to 2 each.
    pub taken: [u8; 2],
}

impl Head {
    /// Whether a drug withdrawal keeps new shares off it.
    pub fn barred(&self) -> bool {
        self.not_before.is_some_and(|first| self.date < first)
    }
}

/// Where a share hangs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// The place of the animal in [`Problem::heads`].
    pub head: usize,
    /// What of it.
    pub sides: Sides,
}

/// Where a reservation stands today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// The animal and side.
    pub spot: Spot,
    /// Whether it stays whatever the plan says.
    pub locked: bool,
}

/// A reservation that wants a share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Its name in reasons and refusals; no other reservation has it.
    pub id: String,
    /// Species.
    pub species: Species,
    /// Size of the share.
    pub size: Size,
    /// When it was taken, in whole seconds of any fixed epoch.
    pub taken_at: i64,
    /// Whether its deposit is paid.
    pub deposit_paid: bool,
    /// Dates that suit, best first; empty when any date does.
    pub dates: Vec<NaiveDate>,
    /// The name of the group that wants to be together.
    pub together: Option<String>,
    /// The least and most the share should weigh; an open end is `None`.
    pub asked: (Option<Weight>, Option<Weight>),
    /// Where it stands now.
    pub current: Option<Standing>,
}

/// How many blocks of their cut sheets differ between two reservations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetDifference {
    /// Place of one in [`Problem::orders`].
    pub a: usize,
    /// Place of the other.
    pub b: usize,
    /// Blocks that differ; at most [`Problem::MOST_BLOCKS`].
    pub blocks: u16,
}

/// All there is to plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The animals; their order decides among equal plans.
    pub heads: Vec<Head>,
    /// The reservations; their order decides among equal plans and equal times.
    pub orders: Vec<Order>,
    /// Pairs of reservations whose cut sheets differ; no pair twice.
    pub sheet_differences: Vec<SheetDifference>,
    /// Whether what is arranged should stay where that costs no promise.
    pub keep: bool,
    /// Quarters that must come onto a head for a custom-exempt plant before it is opened, 1 to 4.
    pub open_custom_from: u8,
}

impl Problem {
    /// The most animals or reservations.
    pub const MOST: usize = 1000;
    /// The most differing blocks of one pair.
    pub const MOST_BLOCKS: u16 = 1000;

    /// For each reservation, how many of the same species were taken after it. Equal times: later in the list is later.
    pub fn seniority(&self) -> Vec<i64> {
        let mut seniority = vec![0; self.orders.len()];
        for species in Species::ALL {
            let mut same: Vec<(i64, usize)> = self
                .orders
                .iter()
                .enumerate()
                .filter(|(_, o)| o.species == *species)
                .map(|(place, o)| (o.taken_at, place))
                .collect();
            same.sort_unstable_by(|a, b| b.cmp(a));
            for (later, (_, place)) in (0_i64..).zip(same) {
                if let Some(slot) = seniority.get_mut(place) {
                    *slot = later;
                }
            }
        }
        seniority
    }
}
