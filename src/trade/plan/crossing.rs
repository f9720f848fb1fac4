//! Groups of more than one species: their parts share nothing but the wish to be on one date.
//!
//! For each such group every date is tried (its members held to it, in every part) and also that it stays apart. A part is
//! solved once for each way its reservations are held.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::model::Model;
use super::part::{Block, Part, Pins};
use super::search::{Found, key_of};
use super::solve::{Solved, polish, solve};
use super::work::Work;
use std::collections::{BTreeMap, HashMap};

/// A group and the dates it could be together on.
struct Mixed {
    /// Its loose members and their parts.
    members: Vec<(usize, usize)>,
    dates: Vec<usize>,
}

/// The best of all parts together.
#[derive(Debug, Clone)]
pub(super) struct Together {
    pub(super) parts: Vec<Found>,
    /// What is lost and the least that can be, over all parts.
    pub(super) lost: Cost,
    pub(super) floor: Cost,
    /// Whether it is certain that the plan comes first among its equals.
    pub(super) first: bool,
}

/// Solves all parts. They are given as blocks and reservations.
pub(super) fn solve_all(model: &Model, parts: &[(Vec<Block>, Vec<usize>)], work: &mut Work) -> Together {
    let mut tries = Tries { model, parts, mixed: mixed(model, parts), known: HashMap::new(), best: None, floor: None };
    // The small ones first: what they do not need is left for the large ones.
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|p| parts[*p].1.len() * parts[*p].0.len());
    let mut reserve = work.portion(work.left() / 5);
    for (done, p) in order.iter().enumerate() {
        let mut some = work.portion(work.left() / (parts.len() - done) as u64);
        let part = Part::new(model, parts[*p].0.clone(), &parts[*p].1, &Pins::new());
        tries.known.insert((*p, Pins::new()), solve(model, &part, Cost::NEVER, &mut some));
        work.give_back(&some);
    }
    work.give_back(&reserve);
    reserve = work.portion(work.left() / 3);
    let base = Pins::new();
    let start = tries.sum(&base, 0);
    tries.best = start.map(|(lost, _)| (lost, base));
    let lowest = tries.sum(&Pins::new(), 0).map_or(Cost::ZERO, |(_, floor)| floor);
    if tries.mixed.is_empty() {
        tries.floor = Some(lowest);
    } else {
        // All apart is the plan to beat.
        let apart = Cost::groups(tries.mixed.len() as i64);
        tries.best = tries.best.map(|(lost, pins)| (lost + apart, pins));
        tries.go(0, &Pins::new(), 0, work);
        if work.left() == 0 {
            tries.floor = Some(lowest);
        }
    }
    work.give_back(&reserve);
    tries.finish(work)
}

struct Tries<'a> {
    model: &'a Model,
    parts: &'a [(Vec<Block>, Vec<usize>)],
    mixed: Vec<Mixed>,
    known: HashMap<(usize, Pins), Solved>,
    /// What is lost at least with the best choice of dates, and that choice.
    best: Option<(Cost, Pins)>,
    /// The least any choice can lose.
    floor: Option<Cost>,
}

impl Tries<'_> {
    /// Those of the pins that touch a part.
    fn pins_of(&self, p: usize, pins: &Pins) -> Pins {
        pins.iter().filter(|(want, _)| self.parts[p].1.contains(want)).map(|(w, d)| (*w, *d)).collect()
    }

    /// What all parts lose and lose at least; `None` when one of them has no plan.
    fn sum(&self, pins: &Pins, apart: i64) -> Option<(Cost, Cost)> {
        let mut sums = (Cost::groups(apart), Cost::groups(apart));
        for p in 0..self.parts.len() {
            let solved = self.known.get(&(p, self.pins_of(p, pins)))?;
            sums.0 += solved.found.as_ref()?.cost;
            sums.1 += solved.floor;
        }
        Some(sums)
    }

    /// Solves the parts that these pins touch; `false` when one has no plan that keeps all promises.
    fn know(&mut self, pins: &Pins, work: &mut Work) -> bool {
        for p in 0..self.parts.len() {
            let key = (p, self.pins_of(p, pins));
            if !self.known.contains_key(&key) {
                if work.left() == 0 {
                    return false;
                }
                let Some(base) = self.known.get(&(p, Pins::new())) else { return false };
                // Not better than the base in the criteria before the groups; only as good is of use.
                let proven = base.found.as_ref().is_some_and(|f| f.cost == base.floor);
                let limit = base.found.as_ref().filter(|_| proven).map_or(Cost::NEVER, |f| f.cost.same_promises());
                let part = Part::new(self.model, self.parts[p].0.clone(), &self.parts[p].1, &key.1);
                let mut some = work.portion(work.left() / 6);
                let solved = solve(self.model, &part, limit, &mut some);
                work.give_back(&some);
                self.known.insert(key.clone(), solved);
            }
            if self.known.get(&key).is_none_or(|solved| solved.found.is_none()) {
                return false;
            }
        }
        true
    }

    fn go(&mut self, group: usize, pins: &Pins, apart: i64, work: &mut Work) {
        let Some((lost, floor)) = self.sum(pins, apart) else { return };
        if self.best.as_ref().is_some_and(|(best, _)| floor > *best) || work.left() == 0 {
            return;
        }
        if group == self.mixed.len() {
            self.floor = Some(self.floor.map_or(floor, |old| old.min(floor)));
            if self.best.as_ref().is_none_or(|(best, _)| lost < *best) {
                self.best = Some((lost, pins.clone()));
            } else if self.best.as_ref().is_some_and(|(best, _)| lost == *best) {
                self.earlier(pins, work);
            }
            return;
        }
        for date in self.mixed[group].dates.clone() {
            let mut held = pins.clone();
            held.extend(self.mixed[group].members.iter().map(|(want, _)| (*want, date)));
            if self.know(&held, work) {
                self.go(group + 1, &held, apart, work);
            } else if work.left() == 0 {
                return;
            } else {
                self.leave(&held, apart);
            }
        }
        self.go(group + 1, pins, apart + 1, work);
    }

    /// Passes over a choice of dates for which no plan was found. Where none was proven not to be, a plan may still lose as little
    /// as is known of it, and the bound must not say more.
    fn leave(&mut self, pins: &Pins, apart: i64) {
        let mut least = Cost::groups(apart);
        for p in 0..self.parts.len() {
            let solved = self.known.get(&(p, self.pins_of(p, pins))).or_else(|| self.known.get(&(p, Pins::new())));
            let Some(solved) = solved else { return };
            if solved.floor.is_never() {
                return;
            }
            least += solved.floor;
        }
        if self.best.as_ref().is_none_or(|(best, _)| least <= *best) {
            self.floor = Some(self.floor.map_or(least, |old| old.min(least)));
        }
    }

    /// Of two choices that lose the same, takes the one whose plan comes first.
    fn earlier(&mut self, pins: &Pins, work: &mut Work) {
        let Some((lost, old)) = self.best.clone() else { return };
        if old == *pins {
            return;
        }
        let (Some(a), Some(b)) = (self.polished(&old, work), self.polished(pins, work)) else { return };
        let keys = |found: &[Found]| {
            let all: BTreeMap<usize, _> =
                found.iter().flat_map(|f| &f.places).map(|(want, place)| (*want, key_of(*place))).collect();
            all.into_values().collect::<Vec<_>>()
        };
        if keys(&b) < keys(&a) {
            self.best = Some((lost, pins.clone()));
        }
    }

    fn polished(&mut self, pins: &Pins, work: &mut Work) -> Option<Vec<Found>> {
        let mut all = Vec::new();
        for p in 0..self.parts.len() {
            let key = (p, self.pins_of(p, pins));
            let solved = self.known.get(&key)?;
            let mut found = solved.found.clone()?;
            if found.cost == solved.floor && !found.first {
                let part = Part::new(self.model, self.parts[p].0.clone(), &self.parts[p].1, &key.1);
                let mut some = work.portion(work.left() / (self.parts.len() - p) as u64);
                found.first = polish(self.model, &part, &mut found, &mut some);
                work.give_back(&some);
                if let Some(solved) = self.known.get_mut(&key) {
                    solved.found = Some(found.clone());
                }
            }
            all.push(found);
        }
        Some(all)
    }

    fn finish(mut self, work: &mut Work) -> Together {
        let best = self.best.clone();
        let (lost, pins) = best.unwrap_or((Cost::ZERO, Pins::new()));
        let parts = self.polished(&pins, work).unwrap_or_default();
        let floor = self.floor.map_or(lost, |floor| floor.min(lost));
        let first = floor == lost && parts.iter().all(|found| found.first);
        Together { parts, lost, floor, first }
    }
}

fn mixed(model: &Model, parts: &[(Vec<Block>, Vec<usize>)]) -> Vec<Mixed> {
    let mut all = Vec::new();
    for team in model.teams.iter().filter(|t| t.mixed) {
        let loose: Vec<usize> = team.members.iter().copied().filter(|i| model.wants[*i].locked.is_none()).collect();
        let members: Option<Vec<(usize, usize)>> =
            loose.iter().map(|i| parts.iter().position(|(_, items)| items.contains(i)).map(|p| (*i, p))).collect();
        let Some(members) = members.filter(|m| !m.is_empty()) else { continue };
        let locks: Vec<usize> =
            team.members.iter().filter_map(|i| model.wants[*i].locked).map(|s| model.beasts[s.head].date).collect();
        let suits = |date: usize| {
            locks.iter().all(|lock| *lock == date)
                && members.iter().all(|(want, p)| {
                    model.wants[*want].rank[date].is_some() && parts[*p].0.iter().any(|block| block.date == date)
                })
        };
        let mut dates: Vec<usize> = parts.iter().flat_map(|(blocks, _)| blocks).map(|b| b.date).collect();
        dates.sort_unstable();
        dates.dedup();
        dates.retain(|date| suits(*date));
        if !dates.is_empty() {
            all.push(Mixed { members, dates });
        }
    }
    all
}
