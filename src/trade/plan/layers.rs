//! All ways to hand out dates, one layer per reservation, with states that are worth the same merged.
//!
//! A state is the room left on every block, what stays on the animals being decided and the date of each open group.
//! Which animal a share gets within its block is not decided here, only that there is one; so what a path through the
//! layers loses is never more than what the best plan with these dates loses.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::ground::Ground;
use super::table::Table;
use super::work::Work;

/// A step from a state to one of the next layer.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// The state it leads to; `GONE` when that state was dropped.
    pub(super) to: u32,
    /// Which of the item's choices it is.
    pub(super) choice: u16,
    /// Whether it breaks the item's group.
    pub(super) breaks: bool,
}

const GONE: u32 = u32::MAX;

#[derive(Debug, Default)]
struct Layer {
    table: Table,
    /// By state: the least lost so far.
    best: Vec<Cost>,
    /// By state: the least that is still lost; `NEVER` when it leads nowhere.
    rest: Vec<Cost>,
    /// By state: where its steps begin; one more at the end.
    first: Vec<u32>,
    steps: Vec<Step>,
}

/// The layers of one part.
#[derive(Debug)]
pub(super) struct Layers {
    layers: Vec<Layer>,
    /// The least that any state left away for want of width may lead to.
    pub(super) dropped: Option<Cost>,
}

impl Layers {
    /// Makes the layers. States that cannot lead to a plan as good as `limit` are left away; of more than `width` in a
    /// layer only the most promising stay.
    pub(super) fn make(ground: &Ground<'_>, limit: Cost, width: usize, work: &mut Work) -> Self {
        let items = ground.part.items.len();
        let start = ground.start();
        let mut first = Layer { table: Table::new(start.len()), ..Layer::default() };
        first.table.place(&start);
        first.best.push(Cost::ZERO);
        let mut made = Self { layers: vec![first], dropped: None };
        let mut state = start;
        // All states that are kept, over all layers, so that memory has a limit too.
        let mut room_for = MOST_STATES;
        for k in 0..items {
            let mut next = Layer { table: Table::new(state.len()), ..Layer::default() };
            let mut hopes: Vec<Cost> = Vec::new();
            let layer = &mut made.layers[k];
            layer.first.push(0);
            for s in 0..layer.best.len() {
                for (c, choice) in ground.part.choices[k].iter().enumerate() {
                    state.copy_from_slice(layer.table.state(s));
                    let Some(breaks) = ground.take(k, c, &mut state) else { continue };
                    let so_far = layer.best[s] + choice.cost + Cost::groups(i64::from(breaks));
                    let still = ground.bound(k + 1, &state);
                    if still.is_never() || so_far + still > limit {
                        continue;
                    }
                    let to = next.table.place(&state);
                    if to == next.best.len() {
                        next.best.push(so_far);
                        hopes.push(still);
                    } else if so_far < next.best[to] {
                        next.best[to] = so_far;
                    }
                    layer.steps.push(Step { to: to as u32, choice: c as u16, breaks });
                }
                layer.first.push(layer.steps.len() as u32);
            }
            let enough = work.spend((layer.steps.len() + layer.best.len()) as u64 * (ground.width() as u64 + 8) / 32);
            let most = width.min(room_for / (items - k)).max(1).min(if enough { usize::MAX } else { 32 });
            if next.best.len() > most {
                made.narrow(k, &mut next, &hopes, most);
            }
            room_for = room_for.saturating_sub(next.best.len());
            // Only the newest layer is looked up by state again; the others need no more memory than they fill.
            let layer = &mut made.layers[k];
            layer.table = Table::default();
            layer.best.shrink_to_fit();
            layer.steps.shrink_to_fit();
            made.layers.push(next);
        }
        made.look_back(ground);
        made
    }

    fn narrow(&mut self, k: usize, next: &mut Layer, hopes: &[Cost], most: usize) {
        let mut ranked: Vec<(Cost, usize)> =
            next.best.iter().zip(hopes).map(|(a, b)| *a + *b).enumerate().map(|(s, f)| (f, s)).collect();
        ranked.select_nth_unstable(most);
        let lost = ranked[most..].iter().map(|(f, _)| *f).min();
        self.dropped = [self.dropped, lost].into_iter().flatten().min();
        let mut keep: Vec<usize> = ranked[..most].iter().map(|(_, s)| *s).collect();
        keep.sort_unstable();
        let mut renamed = vec![GONE; next.best.len()];
        let mut table = Table::new(next.table.width());
        for s in &keep {
            renamed[*s] = table.place(next.table.state(*s)) as u32;
        }
        next.best = keep.iter().map(|s| next.best[*s]).collect();
        next.table = table;
        for step in &mut self.layers[k].steps {
            step.to = renamed[step.to as usize];
        }
    }

    fn look_back(&mut self, ground: &Ground<'_>) {
        let items = ground.part.items.len();
        if let Some(last) = self.layers.last_mut() {
            last.rest = (0..last.best.len()).map(|s| ground.close(last.table.state(s))).collect();
        }
        for k in (0..items).rev() {
            let (before, after) = self.layers.split_at_mut(k + 1);
            let (Some(layer), Some(next)) = (before.last_mut(), after.first()) else { continue };
            layer.rest = (0..layer.best.len())
                .map(|s| {
                    let steps = &layer.steps[layer.first[s] as usize..layer.first[s + 1] as usize];
                    let to_end = steps.iter().filter(|step| step.to != GONE).map(|step| {
                        let rest = next.rest[step.to as usize];
                        if rest.is_never() { Cost::NEVER } else { ground.loss(k, *step) + rest }
                    });
                    to_end.min().unwrap_or(Cost::NEVER)
                })
                .collect();
        }
    }

    /// What the best path loses; `NEVER` when there is none.
    pub(super) fn least(&self) -> Cost {
        self.layers.first().and_then(|l| l.rest.first()).copied().unwrap_or(Cost::NEVER)
    }
    /// What a state before item `k` still loses at least.
    pub(super) fn rest(&self, k: usize, state: u32) -> Cost {
        self.layers[k].rest[state as usize]
    }
    /// The steps of a state that lead somewhere.
    pub(super) fn steps(&self, k: usize, state: u32) -> impl Iterator<Item = Step> + '_ {
        let layer = &self.layers[k];
        let range = layer.first[state as usize] as usize..layer.first[state as usize + 1] as usize;
        layer.steps[range].iter().copied().filter(|step| step.to != GONE)
    }
    /// Leaves only what lies on paths that lose no more than `limit`.
    pub(super) fn trim(&mut self, ground: &Ground<'_>, limit: Cost) {
        let items = ground.part.items.len();
        for k in 0..=items {
            let (before, from) = self.layers.split_at_mut(k);
            let layer = &mut from[0];
            let keep: Vec<usize> = (0..layer.best.len()).filter(|s| layer.best[*s] + layer.rest[*s] <= limit).collect();
            let mut renamed = vec![GONE; layer.best.len()];
            for (new, old) in keep.iter().enumerate() {
                renamed[*old] = new as u32;
            }
            if let Some(earlier) = before.last_mut() {
                earlier.steps.iter_mut().filter(|s| s.to != GONE).for_each(|s| s.to = renamed[s.to as usize]);
            }
            let (mut first, mut steps) = (vec![0], Vec::new());
            for s in keep.iter().filter(|_| k < items) {
                steps.extend(layer.steps[layer.first[*s] as usize..layer.first[*s + 1] as usize].iter().copied());
                first.push(steps.len() as u32);
            }
            layer.best = keep.iter().map(|s| layer.best[*s]).collect();
            layer.rest = keep.iter().map(|s| layer.rest[*s]).collect();
            (layer.first, layer.steps) = (first, steps);
        }
        for k in 0..items {
            let (before, after) = self.layers.split_at_mut(k + 1);
            let (Some(layer), Some(next)) = (before.last_mut(), after.first()) else { continue };
            for s in 0..layer.best.len() {
                for step in &mut layer.steps[layer.first[s] as usize..layer.first[s + 1] as usize] {
                    if step.to != GONE && layer.best[s] + ground.loss(k, *step) + next.rest[step.to as usize] > limit {
                        step.to = GONE;
                    }
                }
            }
        }
    }

    /// What the last state loses at the end.
    pub(super) fn end(&self, state: u32) -> Cost {
        self.layers.last().and_then(|l| l.rest.get(state as usize)).copied().unwrap_or(Cost::NEVER)
    }

    /// How many states there are in all.
    pub(super) fn states(&self) -> usize {
        self.layers.iter().map(|l| l.best.len()).sum()
    }
    /// States of one layer.
    pub(super) fn len(&self, k: usize) -> usize {
        self.layers[k].best.len()
    }
}

/// The most states of one part; about 150 bytes each.
const MOST_STATES: usize = 600_000;
