//! Parts that have nothing to do with each other: one species, and dates linked by reservations that accept several.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::model::{Model, takes};
use std::collections::{BTreeMap, HashMap};

/// The animals of one species on one date that have room.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub(super) date: usize,
    pub(super) heads: Vec<usize>,
}

/// What can become of a reservation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Way {
    /// It is left out.
    Out,
    /// It goes to some animal of a block, but not to where it stands.
    In(usize),
    /// It stays where it stands, in this block.
    Stay(usize),
}

/// One way and what it loses at least.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    pub(super) way: Way,
    pub(super) cost: Cost,
}

/// A group whose members are all in one part (but for locked ones).
#[derive(Debug, Clone)]
pub(super) struct Band {
    pub(super) team: usize,
    /// The date its locked members are on.
    pub(super) fixed: Option<usize>,
    /// By block: whether it could be together there.
    pub(super) fits: Vec<bool>,
}

/// One part.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) blocks: Vec<Block>,
    /// Reservations, in the order the search decides them.
    pub(super) items: Vec<usize>,
    /// By item: its ways.
    pub(super) choices: Vec<Vec<Choice>>,
    pub(super) bands: Vec<Band>,
    /// By item: its band.
    pub(super) band_of: Vec<Option<usize>>,
}

/// Dates that reservations are held to, for groups across parts.
pub(super) type Pins = BTreeMap<usize, usize>;

/// Splits a problem. Reservations in no part can be placed nowhere.
pub(super) fn split(model: &Model) -> Vec<(Vec<Block>, Vec<usize>)> {
    let mut blocks: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (h, beast) in model.beasts.iter().enumerate() {
        if beast.free() > 0 {
            blocks.entry((beast.species, beast.date)).or_default().push(h);
        }
    }
    let keys: Vec<(usize, usize)> = blocks.keys().copied().collect();
    let mut root: Vec<usize> = (0..keys.len()).collect();
    let mut touching: Vec<(usize, Vec<usize>)> = Vec::new();
    for (i, want) in model.wants.iter().enumerate().filter(|(_, w)| w.locked.is_none()) {
        let possible: Vec<usize> = (0..keys.len())
            .filter(|b| {
                let (species, date) = keys[*b];
                species == want.species
                    && want.rank[date].is_some()
                    && blocks[&keys[*b]].iter().any(|h| can_hold(model, *h, want.quarters))
            })
            .collect();
        if let Some(first) = possible.first() {
            for other in &possible {
                let (a, b) = (find(&mut root, *first), find(&mut root, *other));
                root[a.max(b)] = a.min(b);
            }
            touching.push((i, possible));
        }
    }
    let mut parts: BTreeMap<usize, (Vec<Block>, Vec<usize>)> = BTreeMap::new();
    for (i, possible) in &touching {
        parts.entry(find(&mut root, possible[0])).or_default().1.push(*i);
    }
    for (b, key) in keys.iter().enumerate() {
        if let Some(part) = parts.get_mut(&find(&mut root, b)) {
            part.0.push(Block { date: key.1, heads: blocks[key].clone() });
        }
    }
    parts.into_values().collect()
}

fn find(root: &mut [usize], mut at: usize) -> usize {
    while root[at] != at {
        root[at] = root[root[at]];
        at = root[at];
    }
    at
}

fn can_hold(model: &Model, head: usize, quarters: u8) -> bool {
    let [l, r] = model.beasts[head].room();
    match quarters {
        4 => l == 2 && r == 2,
        2 => l == 2 || r == 2,
        _ => l + r > 0,
    }
}

impl Part {
    /// `teams` tells which groups this part answers for.
    pub(super) fn new(model: &Model, blocks: Vec<Block>, items: &[usize], pins: &Pins) -> Self {
        let bands = bands(model, &blocks, items);
        let band_at: HashMap<usize, usize> = bands.iter().enumerate().map(|(b, band)| (band.team, b)).collect();
        let ways: HashMap<usize, Vec<Choice>> =
            items.iter().map(|i| (*i, choices(model, &blocks, *i, pins.get(i).copied()))).collect();
        let items = order(model, items, &ways, &band_at);
        let choices = items.iter().map(|i| ways[i].clone()).collect();
        let band_of = items.iter().map(|i| model.wants[*i].team.and_then(|team| band_at.get(&team).copied())).collect();
        Self { blocks, items, choices, bands, band_of }
    }
}

impl Part {
    /// The same part with nothing but dates to decide: staying is coming onto the block, groups do not count. What its best
    /// plan loses is never more than what the part's best plan loses.
    pub(super) fn dates_only(&self) -> Self {
        let choices = self.choices.iter().map(|ways| {
            let mut merged: Vec<Choice> = Vec::new();
            for choice in ways {
                let way = match choice.way {
                    Way::Stay(b) => Way::In(b),
                    other => other,
                };
                match merged.iter_mut().find(|c| c.way == way) {
                    Some(old) => old.cost = old.cost.min(choice.cost),
                    None => merged.push(Choice { way, cost: choice.cost }),
                }
            }
            merged
        });
        Self {
            blocks: self.blocks.clone(),
            items: self.items.clone(),
            choices: choices.collect(),
            bands: Vec::new(),
            band_of: vec![None; self.items.len()],
        }
    }

    /// The same part, those with the least choice decided first.
    pub(super) fn least_choice_first(&self, model: &Model) -> Self {
        let mut order: Vec<usize> = (0..self.items.len()).collect();
        order.sort_by_key(|k| {
            (self.choices[*k].len(), std::cmp::Reverse(model.wants[self.items[*k]].quarters), self.items[*k])
        });
        Self {
            blocks: self.blocks.clone(),
            items: order.iter().map(|k| self.items[*k]).collect(),
            choices: order.iter().map(|k| self.choices[*k].clone()).collect(),
            bands: self.bands.clone(),
            band_of: order.iter().map(|k| self.band_of[*k]).collect(),
        }
    }

    /// Whether nobody is held to a date.
    pub(super) fn all_may_be_left_out(&self) -> bool {
        self.choices.iter().all(|ways| ways.iter().any(|c| c.way == Way::Out))
    }

    /// Whether there is more to decide than dates.
    pub(super) fn more_than_dates(&self) -> bool {
        !self.bands.is_empty() || self.choices.iter().flatten().any(|c| matches!(c.way, Way::Stay(_)))
    }
}

/// The least distance to the asked range on a block for a share that goes anywhere on it.
pub(super) fn least_outside(model: &Model, block: &Block, want: usize) -> i64 {
    let quarters = model.wants[want].quarters;
    let fitting = block.heads.iter().filter(|h| can_hold(model, **h, quarters));
    fitting.map(|h| model.outside(want, *h)).min().unwrap_or(0)
}

fn choices(model: &Model, blocks: &[Block], want: usize, pin: Option<usize>) -> Vec<Choice> {
    let w = &model.wants[want];
    let mut list = Vec::new();
    for (b, block) in blocks.iter().enumerate() {
        let Some(rank) = w.rank[block.date] else { continue };
        if pin.is_some_and(|date| date != block.date) {
            continue;
        }
        let late = Cost::date_rank(rank * i64::from(w.quarters));
        if let Some(spot) = w.stay
            && block.heads.contains(&spot.head)
        {
            list.push(Choice { way: Way::Stay(b), cost: late + Cost::weight(model.outside(want, spot.head)) });
        }
        if block.heads.iter().any(|h| can_hold(model, *h, w.quarters)) {
            let cost = late + w.elsewhere + Cost::weight(least_outside(model, block, want));
            list.push(Choice { way: Way::In(b), cost });
        }
    }
    if pin.is_none() {
        list.push(Choice { way: Way::Out, cost: w.left_out });
    }
    list
}

fn bands(model: &Model, blocks: &[Block], items: &[usize]) -> Vec<Band> {
    let mut bands = Vec::new();
    for (t, team) in model.teams.iter().enumerate().filter(|(_, t)| !t.mixed) {
        let loose: Vec<usize> = team.members.iter().copied().filter(|i| model.wants[*i].locked.is_none()).collect();
        if loose.is_empty() || !loose.iter().all(|i| items.contains(i)) {
            continue;
        }
        let locks: Vec<usize> =
            team.members.iter().filter_map(|i| model.wants[*i].locked).map(|spot| spot.head).collect();
        let fixed = locks.first().map(|h| model.beasts[*h].date);
        let apart = locks.iter().any(|h| Some(model.beasts[*h].date) != fixed || (team.one_head && *h != locks[0]));
        let fits = blocks
            .iter()
            .map(|block| {
                !apart
                    && fixed.is_none_or(|date| date == block.date)
                    && loose.iter().all(|i| model.wants[*i].rank[block.date].is_some())
                    && (!team.one_head || {
                        let here = |h: &&usize| locks.first().is_none_or(|lock| lock == *h);
                        block.heads.iter().filter(here).any(|h| all_fit(model, *h, &loose))
                    })
            })
            .collect();
        bands.push(Band { team: t, fixed, fits });
    }
    bands
}

/// Whether an otherwise unchanged animal could take all of these.
fn all_fit(model: &Model, head: usize, wants: &[usize]) -> bool {
    let room = model.beasts[head].room();
    let mut sizes: Vec<u8> = wants.iter().map(|i| model.wants[*i].quarters).collect();
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    // Large shares first; a quarter goes where a half no longer can, so the first fit is the best.
    let mut room = if room[0] <= room[1] { room } else { [room[1], room[0]] };
    sizes.into_iter().all(|quarters| {
        let sides = super::model::ways(quarters).iter().map(|s| takes(quarters, *s));
        let fit = sides.into_iter().find(|[l, r]| *l <= room[0] && *r <= room[1]);
        fit.is_some_and(|[l, r]| {
            room = [room[0] - l, room[1] - r];
            true
        })
    })
}

/// The least choice of dates first, so that states stay few the longest; among those alike, group and animal together.
fn order(
    model: &Model,
    items: &[usize],
    ways: &HashMap<usize, Vec<Choice>>,
    bands: &HashMap<usize, usize>,
) -> Vec<usize> {
    let mut sorted = items.to_vec();
    sorted.sort_by_cached_key(|i| {
        let w = &model.wants[*i];
        let band = w.team.and_then(|t| bands.get(&t).copied()).unwrap_or(usize::MAX);
        let mut blocks: Vec<usize> = ways[i]
            .iter()
            .filter_map(|c| match c.way {
                Way::Out => None,
                Way::In(b) | Way::Stay(b) => Some(b),
            })
            .collect();
        blocks.dedup();
        (blocks.len(), std::cmp::Reverse(w.quarters), w.stay.map_or(usize::MAX, |s| s.head), band, *i)
    });
    sorted
}
