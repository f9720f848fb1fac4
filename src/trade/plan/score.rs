//! What a plan is worth: the criteria, the one that counts most first.

use super::problem::{Problem, Spot};
use crate::trade::share::Size;
use crate::trade::weight::Weight;
use std::cmp::Ordering;
use std::collections::{HashMap, HashSet};

crate::words! {
    /// By what plans are compared, one after the other. Each names the silly plan it keeps away, and the test of it in
    /// `tests/it/plan/silly.rs`.
    pub enum Criterion {
        /// Promises with a deposit, more is better. Without it one late whole would push out an early half and quarter that
        /// together take less room: `a_late_whole_does_not_displace_an_earlier_half_and_quarter`.
        Paid = "paid", "quarters with a deposit paid, early ones counted more";
        /// Promises without one, more is better. Without it a reservation would be left out to spare an unsold quarter or a
        /// move: `a_word_without_a_deposit_is_kept_though_it_leaves_quarters_unsold_or_moves_somebody`.
        Unpaid = "unpaid", "quarters without a deposit, early ones counted more";
        /// Reservations that lose their place, fewer is better. Without it all would be shuffled for a slightly nicer date:
        /// `what_is_arranged_stays_even_when_another_date_is_liked_better`.
        Moved = "moved", "reservations moved";
        /// Free quarters on carrying animals at custom-exempt plants, fewer is better. Without it two halves would hang on
        /// two steers: `steers_for_a_custom_plant_are_not_left_half_sold`.
        UnsoldCustom = "unsold_custom", "unsold quarters at custom-exempt plants";
        /// Groups together, more is better. Without it two sisters would drive on two days for one steer:
        /// `a_group_that_fits_on_one_animal_is_on_one`.
        Groups = "groups", "groups together";
        /// Quarters on less wanted dates, less is better. Without it two customers would each get the other’s date:
        /// `two_who_like_each_others_date_are_not_both_disappointed`.
        DateRank = "date_rank", "quarters on later choices of date";
        /// Animals begun, fewer is better. Without it three quarters would be spread over two animals:
        /// `no_more_animals_are_opened_than_needed`.
        Opened = "opened", "animals opened";
        /// Distance to the asked weights in hundredths, less is better. Without it the small family would get the big steer:
        /// `the_small_family_gets_the_small_animal`.
        WeightOutside = "weight_outside", "weight outside what was asked";
        /// Sides with one quarter, fewer is better. Without it a lone quarter would break into a side that a half could still
        /// have: `a_quarter_does_not_spoil_a_saleable_side`.
        HalfFilledSides = "half_filled_sides", "half-filled sides";
        /// Differing blocks on one side, fewer is better. Without it the thick-steak family would share a side with the
        /// thin-steak family: `quarters_of_one_side_like_the_same_cuts`.
        SheetDifferences = "sheet_differences", "cut-sheet blocks that differ on one side";
    }
}

impl Criterion {
    /// Whether more is better.
    pub const fn more_is_better(self) -> bool {
        matches!(self, Self::Paid | Self::Unpaid | Self::Groups)
    }
}

/// The figures of a plan. [`Score::weight_outside`] is in hundredths of the unit, the others are counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Score {
    /// Σ quarters × (1 + seniority) of placed reservations with a deposit.
    pub paid: i64,
    /// The same of those without.
    pub unpaid: i64,
    /// Reservations that stood somewhere and now stand elsewhere or nowhere; 0 without `keep`.
    pub moved: i64,
    /// Free quarters on custom-exempt animals that carry a share and are not barred.
    pub unsold_custom: i64,
    /// Groups satisfied.
    pub groups: i64,
    /// Σ quarters × place of the date in the reservation’s list.
    pub date_rank: i64,
    /// Animals that did not stand and carry something now.
    pub opened: i64,
    /// Σ distance to the asked range, hundredths of the unit.
    pub weight_outside: i64,
    /// Sides with exactly one quarter on them.
    pub half_filled_sides: i64,
    /// Σ differing blocks between two reservations on one side.
    pub sheet_differences: i64,
}

impl Score {
    /// The figure of one criterion.
    pub const fn of(&self, criterion: Criterion) -> i64 {
        match criterion {
            Criterion::Paid => self.paid,
            Criterion::Unpaid => self.unpaid,
            Criterion::Moved => self.moved,
            Criterion::UnsoldCustom => self.unsold_custom,
            Criterion::Groups => self.groups,
            Criterion::DateRank => self.date_rank,
            Criterion::Opened => self.opened,
            Criterion::WeightOutside => self.weight_outside,
            Criterion::HalfFilledSides => self.half_filled_sides,
            Criterion::SheetDifferences => self.sheet_differences,
        }
    }
    /// Compares two plans of one problem; `Less` is the better one.
    pub fn against(&self, other: &Self) -> Ordering {
        Criterion::ALL
            .iter()
            .map(|c| {
                let order = self.of(*c).cmp(&other.of(*c));
                if c.more_is_better() { order.reverse() } else { order }
            })
            .find(|order| order.is_ne())
            .unwrap_or(Ordering::Equal)
    }
}

/// What a share of this size of an animal weighs: hanging × quarters / 4, rounded half up to the hundredth.
pub const fn share_weight(hanging: Weight, size: Size) -> i64 {
    (hanging.hundredths() * size.quarters() + 2).div_euclid(4)
}

/// How far a weight in hundredths is from a range; an open end costs nothing.
pub fn outside(weight: i64, (low, high): (Option<Weight>, Option<Weight>)) -> i64 {
    let short = low.map_or(0, |low| (low.hundredths() - weight).max(0));
    let over = high.map_or(0, |high| (weight - high.hundredths()).max(0));
    short.max(over)
}

/// Reckons a plan from the words of the rules alone, without anything the search knows.
pub fn score(problem: &Problem, places: &[Option<Spot>]) -> Score {
    let seniority = problem.seniority();
    let mut score = Score::default();
    let mut on = vec![[0_u8; 2]; problem.heads.len()];
    let mut standing: Vec<bool> = problem.heads.iter().map(|h| h.taken != [0, 0]).collect();
    for ((order, place), senior) in problem.orders.iter().zip(places).zip(seniority) {
        if let Some(now) = order.current {
            if let Some(stands) = standing.get_mut(now.spot.head) {
                *stands = true;
            }
            score.moved += i64::from(problem.keep && *place != Some(now.spot));
        }
        let Some(spot) = *place else { continue };
        let Some(head) = problem.heads.get(spot.head) else { continue };
        let worth = order.size.quarters() * (1 + senior);
        if order.deposit_paid {
            score.paid += worth
        } else {
            score.unpaid += worth
        }
        let rank = order.dates.iter().position(|d| *d == head.date).unwrap_or(order.dates.len());
        score.date_rank += order.size.quarters() * i64::try_from(rank).unwrap_or(i64::MAX);
        if let Some(hanging) = head.hanging {
            score.weight_outside += outside(share_weight(hanging, order.size), order.asked);
        }
        if let (Some(carried), Some(quarters)) = (on.get_mut(spot.head), spot.sides.quarters(order.size)) {
            for (side, more) in carried.iter_mut().zip(quarters) {
                *side += more;
            }
        }
    }
    for ((head, placed), stands) in problem.heads.iter().zip(&on).zip(standing) {
        let sides = [head.taken[0] + placed[0], head.taken[1] + placed[1]];
        let filled = i64::from(sides[0]) + i64::from(sides[1]);
        if filled > 0 && head.custom_exempt && !head.barred() {
            score.unsold_custom += 4 - filled;
        }
        score.opened += i64::from(!stands && *placed != [0, 0]);
        score.half_filled_sides += sides.iter().map(|side| i64::from(*side == 1)).sum::<i64>();
    }
    for pair in &problem.sheet_differences {
        let place = |i: usize| places.get(i).copied().flatten();
        if place(pair.a).is_some_and(|spot| Some(spot) == place(pair.b)) {
            score.sheet_differences += i64::from(pair.blocks);
        }
    }
    score.groups = groups(problem, places);
    score
}

fn groups(problem: &Problem, places: &[Option<Spot>]) -> i64 {
    let mut members: HashMap<&str, Vec<usize>> = HashMap::new();
    for (i, order) in problem.orders.iter().enumerate() {
        if let Some(name) = &order.together {
            members.entry(name).or_default().push(i);
        }
    }
    let satisfied = |group: &Vec<usize>| {
        let orders: Vec<_> = group.iter().filter_map(|i| problem.orders.get(*i)).collect();
        let spots: Option<Vec<_>> = group.iter().map(|i| places.get(*i).copied().flatten()).collect();
        let Some(spots) = spots else { return false };
        let species: HashSet<_> = orders.iter().map(|o| o.species).collect();
        let one_head = species.len() == 1 && orders.iter().map(|o| o.size.quarters()).sum::<i64>() <= 4;
        let heads: HashSet<_> = spots.iter().map(|s| s.head).collect();
        let dates: HashSet<_> = heads.iter().filter_map(|h| problem.heads.get(*h)).map(|h| h.date).collect();
        if one_head { heads.len() == 1 } else { dates.len() == 1 }
    };
    let met = members.values().filter(|group| group.len() >= 2 && satisfied(group)).count();
    i64::try_from(met).unwrap_or(i64::MAX)
}
