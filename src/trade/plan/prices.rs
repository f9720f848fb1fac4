//! What a quarter of room on each date is worth: the shadow prices of the transport problem in which shares may be divided.
//!
//! Shortest augmenting paths, exact in whole numbers. Whatever prices come out, the bound made with them holds; good ones
//! only make it sharp.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::model::Model;
use super::part::{Part, Way};
use super::room::Room;
use std::collections::VecDeque;

/// Prices by block for wholes, halves and quarters: what one quarter of room costs a share of that size, times four.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    /// Of a quarter of any room, of room on a free side, of room on a free animal, each on top of the one before.
    steps: Vec<[i128; 3]>,
    items: Vec<i128>,
}

struct Arc {
    to: usize,
    room: i64,
    cost: i128,
}

struct Net {
    arcs: Vec<Arc>,
    from: Vec<Vec<usize>>,
}

impl Net {
    fn add(&mut self, a: usize, b: usize, room: i64, cost: i128) {
        self.from[a].push(self.arcs.len());
        self.arcs.push(Arc { to: b, room, cost });
        self.from[b].push(self.arcs.len());
        self.arcs.push(Arc { to: a, room: 0, cost: -cost });
    }
    /// Distances from one node, and the arc each was reached by.
    fn reach(&self, start: usize) -> (Vec<Option<i128>>, Vec<usize>) {
        let mut far: Vec<Option<i128>> = vec![None; self.from.len()];
        let mut by = vec![usize::MAX; self.from.len()];
        let mut waiting = vec![false; self.from.len()];
        let mut queue = VecDeque::from([start]);
        far[start] = Some(0);
        while let Some(at) = queue.pop_front() {
            waiting[at] = false;
            let Some(here) = far[at] else { continue };
            for arc in &self.from[at] {
                let Arc { to, room, cost } = self.arcs[*arc];
                if room > 0 && far[to].is_none_or(|d| here + cost < d) {
                    far[to] = Some(here + cost);
                    by[to] = *arc;
                    if !waiting[to] {
                        waiting[to] = true;
                        queue.push_back(to);
                    }
                }
            }
        }
        (far, by)
    }
}

const LEVEL: [u8; 3] = [1, 2, 4];

impl Prices {
    pub(super) fn of(model: &Model, part: &Part, rooms: &[Room]) -> Self {
        let (items, blocks) = (part.items.len(), part.blocks.len());
        let end = items + 3 * blocks;
        let node = |b: usize, level: usize| items + 3 * b + level;
        let mut net = Net { arcs: Vec::new(), from: vec![Vec::new(); end + 1] };
        for (b, room) in rooms.iter().enumerate() {
            net.add(node(b, 2), node(b, 1), 4 * i64::from(room.animals), 0);
            net.add(node(b, 1), node(b, 0), 2 * i64::from(room.sides), 0);
            net.add(node(b, 0), end, i64::from(room.quarters), 0);
        }
        for (k, choices) in part.choices.iter().enumerate() {
            let quarters = model.wants[part.items[k]].quarters;
            for choice in choices {
                let cost = choice.cost.hi * 4 / i128::from(quarters);
                match choice.way {
                    Way::Out => net.add(k, end, i64::from(quarters), cost),
                    Way::In(b) | Way::Stay(b) => net.add(k, node(b, level(quarters)), i64::from(quarters), cost),
                }
            }
        }
        for k in 0..items {
            let mut left = i64::from(model.wants[part.items[k]].quarters);
            while left > 0 {
                let (far, by) = net.reach(k);
                if far[end].is_none() {
                    break;
                }
                let mut push = left;
                let mut at = end;
                while at != k {
                    push = push.min(net.arcs[by[at]].room);
                    at = net.arcs[by[at] ^ 1].to;
                }
                at = end;
                while at != k {
                    net.arcs[by[at]].room -= push;
                    net.arcs[by[at] ^ 1].room += push;
                    at = net.arcs[by[at] ^ 1].to;
                }
                left -= push;
            }
        }
        let dear = part.choices.iter().flatten().map(|c| c.cost.hi * 4).max().unwrap_or(0);
        let steps = (0..blocks)
            .map(|b| {
                let worth = |l: usize| net.reach(node(b, l)).0[end].unwrap_or(dear).max(0);
                let (one, two, four) = (worth(0), worth(1), worth(2));
                [one, (two - one).max(0), (four - two.max(one)).max(0)]
            })
            .collect();
        let mut prices = Self { steps, items: Vec::new() };
        for (k, choices) in part.choices.iter().enumerate() {
            let quarters = model.wants[part.items[k]].quarters;
            let least = choices.iter().map(|c| prices.with_room(c.way, c.cost.hi, quarters)).min().unwrap_or(0);
            prices.items.push(least.div_euclid(4));
        }
        prices
    }

    /// By item: the least that taking care of it costs, room paid for.
    pub(super) fn of_items(&self) -> &[i128] {
        &self.items
    }

    fn with_room(&self, way: Way, cost: i128, quarters: u8) -> i128 {
        match way {
            Way::Out => 4 * cost,
            Way::In(b) | Way::Stay(b) => {
                let price: i128 = self.steps[b].iter().take(level(quarters) + 1).sum();
                4 * cost + i128::from(quarters) * price
            }
        }
    }
}

fn level(quarters: u8) -> usize {
    LEVEL.iter().position(|size| *size == quarters).unwrap_or(0)
}
