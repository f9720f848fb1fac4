//! The problem as the search wants it: places instead of names, and what is fixed already taken off.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::problem::{Problem, Sides, Spot};
use super::score::{outside, share_weight};
use chrono::NaiveDate;
use std::collections::HashMap;

/// An animal.
#[derive(Debug, Clone)]
pub(super) struct Beast {
    pub(super) species: usize,
    pub(super) date: usize,
    /// Whether free quarters on it count as unsold once it carries something.
    pub(super) custom: bool,
    /// Whether it takes new shares.
    pub(super) open: bool,
    pub(super) stands: bool,
    /// Quarters that must come onto it if any do; 1 unless it would be opened for a custom-exempt plant.
    pub(super) least: u8,
    /// Quarters on it that nothing moves: taken and locked, left and right.
    pub(super) held: [u8; 2],
    /// Reservations locked on it.
    pub(super) residents: Vec<usize>,
}

impl Beast {
    pub(super) fn room(&self) -> [u8; 2] {
        if self.open { [2 - self.held[0], 2 - self.held[1]] } else { [0, 0] }
    }
    pub(super) fn free(&self) -> u8 {
        let [l, r] = self.room();
        l + r
    }
}

/// A reservation.
#[derive(Debug, Clone)]
pub(super) struct Want {
    pub(super) species: usize,
    pub(super) quarters: u8,
    /// What leaving it out loses: the promise and, when it stands somewhere, the move.
    pub(super) left_out: Cost,
    /// What putting it anywhere but where it stands loses.
    pub(super) elsewhere: Cost,
    /// By date: place in its list; `None` when the date does not suit.
    pub(super) rank: Vec<Option<i64>>,
    pub(super) team: Option<usize>,
    /// Where it stands and may stay, when that counts.
    pub(super) stay: Option<Spot>,
    pub(super) locked: Option<Spot>,
    /// By animal: distance to the asked range in hundredths. Empty when nothing is asked.
    pub(super) outside: Vec<i64>,
}

/// A group of two or more.
#[derive(Debug, Clone)]
pub(super) struct Team {
    pub(super) members: Vec<usize>,
    /// Whether it wants one animal, because it fits on one.
    pub(super) one_head: bool,
    /// Whether its members are of more than one species.
    pub(super) mixed: bool,
}

/// All of it.
#[derive(Debug, Clone)]
pub(super) struct Model {
    pub(super) beasts: Vec<Beast>,
    pub(super) wants: Vec<Want>,
    pub(super) teams: Vec<Team>,
    /// Differing blocks of two reservations, smaller place first.
    pub(super) sheets: HashMap<(usize, usize), i64>,
    /// Whether a reservation has any listed difference.
    pub(super) has_sheet: Vec<bool>,
}

impl Model {
    pub(super) fn new(problem: &Problem) -> Self {
        let mut dates: Vec<NaiveDate> = problem.heads.iter().map(|h| h.date).collect();
        dates.sort_unstable();
        dates.dedup();
        let date_of = |day: NaiveDate| dates.binary_search(&day).unwrap_or(0);
        let mut beasts: Vec<Beast> = problem
            .heads
            .iter()
            .map(|h| Beast {
                species: h.species as usize,
                date: date_of(h.date),
                custom: h.custom_exempt && !h.barred(),
                open: !h.barred(),
                stands: h.taken != [0, 0],
                least: 1,
                held: h.taken,
                residents: Vec::new(),
            })
            .collect();
        for (i, order) in problem.orders.iter().enumerate() {
            let Some(now) = order.current else { continue };
            let beast = &mut beasts[now.spot.head];
            beast.stands = true;
            if now.locked
                && let Some(quarters) = now.spot.sides.quarters(order.size)
            {
                beast.held[0] += quarters[0];
                beast.held[1] += quarters[1];
                beast.residents.push(i);
            }
        }
        for (beast, head) in beasts.iter_mut().zip(&problem.heads) {
            if head.custom_exempt && !beast.stands {
                beast.least = problem.open_custom_from;
            }
        }
        let teams = teams(problem);
        let wants = wants(problem, &dates, &beasts, &teams);
        let mut sheets = HashMap::new();
        let mut has_sheet = vec![false; wants.len()];
        for pair in problem.sheet_differences.iter().filter(|p| p.blocks > 0) {
            sheets.insert((pair.a.min(pair.b), pair.a.max(pair.b)), i64::from(pair.blocks));
            has_sheet[pair.a] = true;
            has_sheet[pair.b] = true;
        }
        Self { beasts, wants, teams, sheets, has_sheet }
    }

    /// Distance of a reservation to its asked range on an animal.
    pub(super) fn outside(&self, want: usize, beast: usize) -> i64 {
        self.wants[want].outside.get(beast).copied().unwrap_or(0)
    }
}

/// Left and right quarters a share takes.
pub(super) const fn takes(quarters: u8, sides: Sides) -> [u8; 2] {
    match sides {
        Sides::Left => [quarters, 0],
        Sides::Right => [0, quarters],
        Sides::Both => [2, 2],
    }
}

/// The ways a share of so many quarters can hang, left before right.
pub(super) const fn ways(quarters: u8) -> &'static [Sides] {
    if quarters == 4 { &[Sides::Both] } else { &[Sides::Left, Sides::Right] }
}

fn teams(problem: &Problem) -> Vec<Team> {
    let mut names: Vec<&str> = Vec::new();
    let mut place: HashMap<&str, usize> = HashMap::new();
    let mut members: Vec<Vec<usize>> = Vec::new();
    for (i, order) in problem.orders.iter().enumerate() {
        let Some(name) = &order.together else { continue };
        let team = *place.entry(name).or_insert_with(|| {
            names.push(name);
            members.push(Vec::new());
            members.len() - 1
        });
        members[team].push(i);
    }
    members
        .into_iter()
        .filter(|m| m.len() >= 2)
        .map(|members| {
            let species = problem.orders[members[0]].species;
            let mixed = members.iter().any(|i| problem.orders[*i].species != species);
            let quarters: i64 = members.iter().map(|i| problem.orders[*i].size.quarters()).sum();
            Team { members, one_head: !mixed && quarters <= 4, mixed }
        })
        .collect()
}

fn wants(problem: &Problem, dates: &[NaiveDate], beasts: &[Beast], teams: &[Team]) -> Vec<Want> {
    let seniority = problem.seniority();
    let mut team_of = vec![None; problem.orders.len()];
    for (t, team) in teams.iter().enumerate() {
        for member in &team.members {
            team_of[*member] = Some(t);
        }
    }
    let one = |i: usize| {
        let order = &problem.orders[i];
        let place: HashMap<NaiveDate, i64> = order.dates.iter().copied().zip(0..).collect();
        let rank: Vec<Option<i64>> =
            dates.iter().map(|d| if order.dates.is_empty() { Some(0) } else { place.get(d).copied() }).collect();
        let worth = order.size.quarters() * (1 + seniority[i]);
        let moved = Cost::moved(i64::from(problem.keep && order.current.is_some()));
        let stay = order.current.filter(|now| !now.locked && problem.keep).map(|now| now.spot).filter(|spot| {
            let beast = &beasts[spot.head];
            let room = beast.room();
            beast.species == order.species as usize
                && rank[beast.date].is_some()
                && spot.sides.quarters(order.size).is_some_and(|[l, r]| l <= room[0] && r <= room[1])
        });
        let asks = order.asked.0.is_some() || order.asked.1.is_some();
        let distance = |h: &super::problem::Head| {
            h.hanging.map_or(0, |hanging| outside(share_weight(hanging, order.size), order.asked))
        };
        Want {
            species: order.species as usize,
            quarters: u8::try_from(order.size.quarters()).unwrap_or(4),
            left_out: if order.deposit_paid { Cost::paid(worth) } else { Cost::unpaid(worth) } + moved,
            elsewhere: moved,
            rank,
            team: team_of[i],
            stay,
            locked: order.current.filter(|now| now.locked).map(|now| now.spot),
            outside: if asks { problem.heads.iter().map(distance).collect() } else { Vec::new() },
        }
    };
    (0..problem.orders.len()).map(one).collect()
}
