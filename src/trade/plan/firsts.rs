//! Among equal plans, the one that comes first: reservation by reservation, the earliest animal that loses nothing.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::ground::Ground;
use super::layers::Layers;
use super::model::{Model, ways};
use super::part::{Part, Way};
use super::pen::{Ask, Guest, house};
use super::problem::Spot;
use super::search::{Fixes, Found, Memory, Search, allowed, key_of};
use super::work::Work;
use std::collections::HashMap;

/// Turns a best plan into the first of the best; `false` when the work ran out before that was certain.
///
/// `layers` hold every path that loses no more than the plan.
pub(super) fn first(model: &Model, ground: &Ground<'_>, layers: &Layers, found: &mut Found, work: &mut Work) -> bool {
    let part = ground.part;
    let mut certain = house_first(model, ground, found, work);
    let mut fixes: Fixes = HashMap::new();
    let mut layer_of: Vec<(usize, usize)> = part.items.iter().copied().zip(0..).collect();
    layer_of.sort_unstable();
    let mut memory = Memory::default();
    for (want, k) in layer_of {
        let now = found.places.get(&want).copied().flatten();
        let reach = Reach::of(model, ground, layers, &fixes, found.cost, work);
        if reach.settled {
            break;
        }
        let open = reach.open[k].clone();
        let mut settled = open.len() == 1 && reach.block_settled(&open);
        settled |= open.is_empty();
        if !settled {
            for spot in earlier(model, part, want, &open, now) {
                let mut tried = fixes.clone();
                tried.insert(want, Some(spot));
                let rests = rests(model, ground, layers, &tried);
                work.spend(layers.states() as u64 / 4 + 1);
                if rests[0].first().is_none_or(|rest| *rest > found.cost) {
                    continue;
                }
                let mut some = work.portion(work.left() / 8);
                let search = Search::new(model, ground, layers, &tried, &mut memory, found.cost, true);
                let better = search.any(&rests, &mut some);
                certain &= better.is_some() || some.left() > 0;
                work.give_back(&some);
                if let Some(better) = better {
                    *found = better;
                    break;
                }
            }
        }
        if work.left() == 0 {
            return false;
        }
        fixes.insert(want, found.places.get(&want).copied().flatten());
    }
    house_first(model, ground, found, work) && certain
}

/// Places before `now` on blocks that are open to the reservation.
fn earlier(model: &Model, part: &Part, want: usize, open: &[Way], now: Option<Spot>) -> Vec<Spot> {
    let mut spots = Vec::new();
    for way in open {
        match way {
            Way::Out => {}
            Way::Stay(_) => spots.extend(model.wants[want].stay),
            Way::In(b) => {
                for head in &part.blocks[*b].heads {
                    let sides = ways(model.wants[want].quarters).iter();
                    spots.extend(sides.map(|sides| Spot { head: *head, sides: *sides }));
                }
            }
        }
    }
    spots.retain(|spot| key_of(Some(*spot)) < key_of(now));
    spots.sort_unstable();
    spots.dedup();
    spots
}

/// What is still lost from each state, with reservations held to places.
fn rests(model: &Model, ground: &Ground<'_>, layers: &Layers, fixes: &Fixes) -> Vec<Vec<Cost>> {
    let items = ground.part.items.len();
    let mut rests: Vec<Vec<Cost>> = vec![Vec::new(); items + 1];
    rests[items] = (0..layers.len(items)).map(|s| layers.end(s as u32)).collect();
    for k in (0..items).rev() {
        let next = std::mem::take(&mut rests[k + 1]);
        rests[k] = (0..layers.len(k))
            .map(|s| {
                let steps = layers.steps(k, s as u32);
                let open = steps.filter(|step| allowed(fixes, ground.part, k, ground.way(k, *step), model));
                let rest = open.map(|step| (next[step.to as usize], step)).filter(|(rest, _)| !rest.is_never());
                rest.map(|(rest, step)| rest + ground.loss(k, step)).min().unwrap_or(Cost::NEVER)
            })
            .collect();
        rests[k + 1] = next;
    }
    rests
}

/// Which steps still lie on paths that lose no more than the plan.
struct Reach {
    /// By item: its open ways.
    open: Vec<Vec<Way>>,
    /// Whether there is but one way for each.
    settled: bool,
}

impl Reach {
    fn of(model: &Model, ground: &Ground<'_>, layers: &Layers, fixes: &Fixes, limit: Cost, work: &mut Work) -> Self {
        let items = ground.part.items.len();
        let rests = rests(model, ground, layers, fixes);
        let mut best: Vec<Vec<Cost>> = (0..=items).map(|k| vec![Cost::NEVER; layers.len(k)]).collect();
        let mut open: Vec<Vec<Way>> = vec![Vec::new(); items];
        best[0] = vec![Cost::ZERO; layers.len(0)];
        for k in 0..items {
            for s in 0..layers.len(k) {
                if best[k][s].is_never() {
                    continue;
                }
                for step in layers.steps(k, s as u32) {
                    let way = ground.way(k, step);
                    let rest = rests[k + 1][step.to as usize];
                    if rest.is_never() || !allowed(fixes, ground.part, k, way, model) {
                        continue;
                    }
                    let so_far = best[k][s] + ground.loss(k, step);
                    if so_far + rest > limit {
                        continue;
                    }
                    let to = &mut best[k + 1][step.to as usize];
                    *to = so_far.min(*to);
                    if !open[k].contains(&way) {
                        open[k].push(way);
                    }
                }
            }
        }
        work.spend(layers.states() as u64 / 2 + 1);
        let settled = open.iter().all(|ways| ways.len() <= 1);
        Self { open, settled }
    }

    /// Whether everyone who may come onto the block of this way must.
    fn block_settled(&self, ways: &[Way]) -> bool {
        let block = |way: &Way| match way {
            Way::Out => None,
            Way::In(b) | Way::Stay(b) => Some(*b),
        };
        let Some(Some(b)) = ways.first().map(block) else { return true };
        self.open.iter().all(|ways| ways.len() <= 1 || ways.iter().all(|way| block(way) != Some(b)))
    }
}

/// Houses each block’s guests in the first of the best ways, their dates left as they are.
fn house_first(model: &Model, ground: &Ground<'_>, found: &mut Found, work: &mut Work) -> bool {
    let part = ground.part;
    let mut certain = true;
    for (b, block) in part.blocks.iter().enumerate() {
        let mut guests: Vec<Guest> = Vec::new();
        for want in &part.items {
            if let Some(Some(spot)) = found.places.get(want)
                && block.heads.contains(&spot.head)
            {
                guests.push(Guest { want: *want, stay: model.wants[*want].stay == Some(*spot), fixed: None });
            }
        }
        let mut some = work.portion(work.left() / 4);
        let best = house(model, part, b, &guests, Ask::Best, Cost::NEVER, &mut some);
        let Some((least, _)) = best.best else {
            certain = false;
            work.give_back(&some);
            continue;
        };
        // Only when the best is known is the first of the best known.
        certain &= best.floor == least;
        let first = house(model, part, b, &guests, Ask::First, least, &mut some);
        certain &= some.left() > 0;
        work.give_back(&some);
        if let Some((_, spots)) = first.best {
            found.places.extend(spots.into_iter().map(|(want, spot)| (want, Some(spot))));
        }
    }
    certain
}
