//! Goes through the paths of the layers, best hope first, and houses the guests of every block at the end of each.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::ground::Ground;
use super::layers::{Layers, Step};
use super::model::Model;
use super::part::{Part, Way};
use super::pen::{Ask, Guest, Housed, house};
use super::problem::{Sides, Spot};
use super::work::Work;
use std::collections::HashMap;

/// What a part becomes: each of its reservations with its place.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) cost: Cost,
    pub(super) places: HashMap<usize, Option<Spot>>,
    /// Whether it was already turned into the first of the best.
    pub(super) first: bool,
}

/// Reservations held to a place (or to none).
pub(super) type Fixes = HashMap<usize, Option<Spot>>;

/// Answers about blocks that were given before.
#[derive(Default)]
pub(super) struct Memory {
    best: HashMap<(usize, Vec<Guest>), Housed>,
    floor: HashMap<(usize, Vec<Guest>), Cost>,
}

/// The most answers remembered.
const MOST_REMEMBERED: usize = 60_000;

pub(super) struct Search<'a> {
    model: &'a Model,
    part: &'a Part,
    ground: &'a Ground<'a>,
    layers: &'a Layers,
    /// By layer and state: what is still lost, when that is known better than the layers know it.
    rests: Option<&'a [Vec<Cost>]>,
    fixes: &'a Fixes,
    memory: &'a mut Memory,
    /// What a plan may lose at most; one that loses just as much counts only when `equal`.
    limit: Cost,
    equal: bool,
    /// Whether one plan is enough.
    one: bool,
    guests: Vec<Vec<Guest>>,
    extra: Vec<Cost>,
    /// Paths followed to their end.
    arrived: u64,
    /// Steps made without any work left.
    overtime: usize,
    pub(super) found: Option<Found>,
    /// The least that what was not gone through may lose.
    pub(super) unseen: Option<Cost>,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        model: &'a Model,
        ground: &'a Ground<'a>,
        layers: &'a Layers,
        fixes: &'a Fixes,
        memory: &'a mut Memory,
        limit: Cost,
        equal: bool,
    ) -> Self {
        let part = ground.part;
        let blocks = part.blocks.len();
        Self {
            model,
            part,
            ground,
            layers,
            rests: None,
            fixes,
            memory,
            limit,
            equal,
            one: false,
            guests: vec![Vec::new(); blocks],
            extra: vec![Cost::ZERO; blocks],
            arrived: 0,
            overtime: 0,
            found: None,
            unseen: None,
        }
    }

    /// Looks for any plan that loses no more than the limit and stops at the first.
    pub(super) fn any(mut self, rests: &'a [Vec<Cost>], work: &mut Work) -> Option<Found> {
        self.rests = Some(rests);
        self.one = true;
        self.run(work);
        self.found
    }

    /// Looks for the plan that loses least.
    pub(super) fn run(&mut self, work: &mut Work) {
        if !self.hopeless(self.rest(0, 0)) {
            self.go(0, 0, Cost::ZERO, work);
        }
    }

    fn rest(&self, k: usize, state: u32) -> Cost {
        self.rests.map_or_else(|| self.layers.rest(k, state), |rests| rests[k][state as usize])
    }

    fn hopeless(&self, hope: Cost) -> bool {
        let enough = self.one && self.found.is_some();
        let equal = self.equal && self.found.is_none();
        hope.is_never() || enough || if equal { hope > self.limit } else { hope >= self.limit }
    }

    fn go(&mut self, k: usize, state: u32, so_far: Cost, work: &mut Work) {
        if k == self.part.items.len() {
            self.arrive(so_far, work);
            return;
        }
        let extra: Cost = self.extra.iter().fold(Cost::ZERO, |a, b| a + *b);
        let mut steps: Vec<(Cost, Step)> = self
            .layers
            .steps(k, state)
            .filter(|step| allowed(self.fixes, self.part, k, self.ground.way(k, *step), self.model))
            .map(|step| (self.rest(k + 1, step.to), step))
            .filter(|(rest, _)| !rest.is_never())
            .map(|(rest, step)| (so_far + self.ground.loss(k, step) + rest + extra, step))
            .collect();
        steps.sort_by_key(|(hope, step)| (*hope, step.choice));
        for (hope, step) in steps {
            if self.hopeless(hope) {
                break;
            }
            // Out of work: some steps are still made, so that one path comes to its end and there is a plan.
            if !work.spend(2) {
                self.overtime += 1;
                if self.found.is_some() || self.arrived > 0 || self.overtime > 3 * self.part.items.len() {
                    self.leave(hope);
                    return;
                }
            }
            self.step(k, step, so_far, hope, work);
        }
    }

    fn leave(&mut self, hope: Cost) {
        self.unseen = Some(self.unseen.map_or(hope, |u| u.min(hope)));
    }

    fn step(&mut self, k: usize, step: Step, so_far: Cost, hope: Cost, work: &mut Work) {
        let so_far = so_far + self.ground.loss(k, step);
        let (b, stay) = match self.ground.way(k, step) {
            Way::Out => {
                self.go(k + 1, step.to, so_far, work);
                return;
            }
            Way::In(b) => (b, false),
            Way::Stay(b) => (b, true),
        };
        let want = self.part.items[k];
        let fixed = self.fixes.get(&want).copied().flatten().map(|spot| (spot.head, spot.sides));
        self.guests[b].push(Guest { want, stay, fixed });
        let before = self.extra[b];
        if self.guests[b].len() > 1 && work.left() > 0 && self.matters(want) {
            self.extra[b] = self.floor(b, work).max(before);
        }
        if !self.hopeless(hope + self.extra[b] - before) {
            self.go(k + 1, step.to, so_far, work);
        }
        self.extra[b] = before;
        self.guests[b].pop();
    }

    /// Whether where it hangs in its block is not all one.
    fn matters(&self, want: usize) -> bool {
        let w = &self.model.wants[want];
        !w.outside.is_empty() || w.team.is_some() || self.model.has_sheet[want]
    }

    fn floor(&mut self, b: usize, work: &mut Work) -> Cost {
        let key = (b, self.guests[b].clone());
        if let Some(known) = self.memory.floor.get(&key) {
            return *known;
        }
        let mut some = Work::units(work.left().min(4000));
        let before = some.left();
        let housed = house(self.model, self.part, b, &key.1, Ask::Floor, Cost::NEVER, &mut some);
        work.spend(before.saturating_sub(some.left()));
        if self.memory.floor.len() < MOST_REMEMBERED {
            self.memory.floor.insert(key, housed.floor);
        }
        housed.floor
    }

    /// All dates are handed out: house everyone.
    fn arrive(&mut self, so_far: Cost, work: &mut Work) {
        self.arrived += 1;
        let (mut cost, mut floor) = (so_far, so_far);
        let mut places: Vec<(usize, Spot)> = Vec::new();
        for b in 0..self.part.blocks.len() {
            let mut key = (b, self.guests[b].clone());
            key.1.sort_unstable();
            if !self.memory.best.contains_key(&key) {
                let mut some = Work::units((work.left() / 4).clamp(2000, 400_000));
                let before = some.left();
                let housed = house(self.model, self.part, b, &key.1, Ask::Best, Cost::NEVER, &mut some);
                work.spend(before.saturating_sub(some.left()));
                if self.memory.best.len() >= MOST_REMEMBERED {
                    self.memory.best.clear();
                }
                self.memory.best.insert(key.clone(), housed);
            }
            let Some(housed) = self.memory.best.get(&key) else { return };
            if housed.floor.is_never() {
                return;
            }
            floor += housed.floor;
            if self.hopeless(floor) {
                return;
            }
            match &housed.best {
                Some((loss, spots)) => {
                    cost += *loss;
                    places.extend(spots.iter().copied());
                }
                None => cost = Cost::NEVER,
            }
            if cost.is_never() {
                self.leave(floor);
                return;
            }
        }
        if floor < cost && !self.hopeless(floor) {
            self.leave(floor);
        }
        if !self.hopeless(cost) {
            let mut all: HashMap<usize, Option<Spot>> = self.part.items.iter().map(|i| (*i, None)).collect();
            all.extend(places.into_iter().map(|(want, spot)| (want, Some(spot))));
            self.limit = cost;
            self.found = Some(Found { cost, places: all, first: false });
        }
    }
}

/// Whether a way is open to item `k` while reservations are held to places.
pub(super) fn allowed(fixes: &Fixes, part: &Part, k: usize, way: Way, model: &Model) -> bool {
    let want = part.items[k];
    let Some(fix) = fixes.get(&want) else { return true };
    match (fix, way) {
        (None, Way::Out) => true,
        (Some(spot), Way::In(b)) => {
            model.wants[want].stay != Some(*spot) && part.blocks[b].heads.binary_search(&spot.head).is_ok()
        }
        (Some(spot), Way::Stay(_)) => model.wants[want].stay == Some(*spot),
        _ => false,
    }
}

/// The earlier of two places in the order of animals, left before right, none last.
pub(super) fn key_of(place: Option<Spot>) -> (usize, Sides) {
    place.map_or((usize::MAX, Sides::Both), |spot| (spot.head, spot.sides))
}
