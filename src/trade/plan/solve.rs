//! The best plan of one part, and how certain that is.

use super::cost::Cost;
use super::firsts::first;
use super::ground::{Ground, Guide};
use super::layers::Layers;
use super::model::Model;
use super::part::Part;
use super::rough::rough;
use super::search::{Found, Memory, Search};
use super::work::Work;
use std::collections::HashMap;

/// What came of a part.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    /// The plan; `None` when there is none at all (only with reservations held to dates).
    pub(super) found: Option<Found>,
    /// The least any plan of the part loses, as far as is known; what the plan loses when it is proven.
    pub(super) floor: Cost,
}

/// States per layer in the first, quick rounds and the last, full one.
const WIDTHS: [usize; 4] = [12, 150, 3000, usize::MAX];

/// What the first search for a plan may take in any case.
const LEAST_WORK: u64 = 20_000;

/// Looks for the best plan that loses no more than `limit`.
pub(super) fn solve(model: &Model, part: &Part, limit: Cost, work: &mut Work) -> Solved {
    let mut floor = Cost::ZERO;
    if part.more_than_dates() {
        let mut some = work.portion(work.left() * 2 / 3);
        let solved = by_dates(model, part, limit, &mut some);
        work.give_back(&some);
        if solved.found.is_some() || solved.floor > limit || solved.floor.is_never() {
            return solved;
        }
        floor = solved.floor;
    }
    let mut solved = rounds(model, Ground::new(model, part, None), limit, work);
    solved.floor = solved.floor.max(floor);
    let proven = solved.found.as_ref().is_some_and(|found| found.cost == solved.floor);
    if !proven && limit.is_never() && part.all_may_be_left_out() {
        let better = |found: &Found| solved.found.as_ref().is_none_or(|old| found.cost < old.cost);
        if let Some(found) = rough(model, part).filter(better) {
            solved.floor = solved.floor.min(found.cost);
            solved.found = Some(found);
        }
    }
    solved
}

/// Solves the dates alone first. Finds nothing when they are too many, or when the best of them lead nowhere; what it has
/// learned of the floor is true all the same.
fn by_dates(model: &Model, part: &Part, limit: Cost, work: &mut Work) -> Solved {
    let dates = part.dates_only();
    let first = dates.least_choice_first(model);
    let mut some = work.portion(work.left() / 2);
    let (least, known) = least(Ground::new(model, &first, None), limit, &mut some);
    work.give_back(&some);
    let nothing = Solved { found: None, floor: least };
    if !known || least.is_never() || least > limit {
        return nothing;
    }
    let limit = limit.min(least.same_sales());
    let ground = Ground::new(model, &dates, None);
    let mut some = work.portion(work.left() / 2);
    let layers = Layers::make(&ground, limit, usize::MAX, &mut some);
    work.give_back(&some);
    if layers.dropped.is_some() {
        return nothing;
    }
    let guide = Guide::new(part, &dates, &layers);
    let solved = rounds(model, Ground::new(model, part, Some(guide)), limit, work);
    if solved.found.is_some() { solved } else { nothing }
}

/// What the best path of a part loses at least, and whether that is just what it loses.
fn least(ground: Ground<'_>, limit: Cost, work: &mut Work) -> (Cost, bool) {
    work.spend(ground.effort());
    let (mut best, mut floor) = (None::<Cost>, Cost::ZERO);
    for width in WIDTHS {
        let layers = Layers::make(&ground, best.unwrap_or(limit), width, work);
        let found = layers.least();
        if !found.is_never() {
            best = Some(best.map_or(found, |old| old.min(found)));
        }
        match layers.dropped {
            Some(dropped) if best.is_none_or(|best| dropped < best) => floor = floor.max(dropped),
            _ => return (best.unwrap_or(Cost::NEVER), true),
        }
        if work.left() == 0 {
            break;
        }
    }
    (floor, false)
}

/// Searches in wider and wider layers.
fn rounds(model: &Model, ground: Ground<'_>, limit: Cost, work: &mut Work) -> Solved {
    work.spend(ground.effort());
    let fixes = HashMap::new();
    let mut memory = Memory::default();
    let mut best: Option<Found> = None;
    let mut floor = Cost::ZERO;
    for width in WIDTHS {
        let limit = best.as_ref().map_or(limit, |f| f.cost);
        let last = width == usize::MAX;
        let mut some = work.portion(if last { work.left() / 2 } else { work.left() / 3 });
        let layers = Layers::make(&ground, limit, width, &mut some);
        work.give_back(&some);
        let whole = layers.dropped.is_none();
        let mut some = work.portion(if last || whole { work.left() } else { work.left() / 8 });
        let lent = best.is_none() && some.left() < LEAST_WORK;
        if lent {
            some = Work::units(LEAST_WORK);
        }
        let mut search = Search::new(model, &ground, &layers, &fixes, &mut memory, limit, best.is_none());
        search.run(&mut some);
        let unseen = search.unseen;
        if let Some(found) = search.found {
            best = Some(found);
        }
        if !lent {
            work.give_back(&some);
        }
        let least = best.as_ref().map_or(Cost::NEVER, |f| f.cost);
        let known = [layers.dropped, unseen].into_iter().flatten().min().map_or(least, |open| open.min(least));
        floor = floor.max(known);
        if floor == least || whole || work.left() == 0 {
            break;
        }
    }
    Solved { found: best, floor }
}

/// Turns a best plan into the first of the best; `false` when that is not certain.
pub(super) fn polish(model: &Model, part: &Part, found: &mut Found, work: &mut Work) -> bool {
    let dates = part.dates_only();
    let ground = Ground::new(model, &dates, None);
    let layers = Layers::make(&ground, found.cost, usize::MAX, work);
    let guide = layers.dropped.is_none().then(|| Guide::new(part, &dates, &layers));
    let ground = Ground::new(model, part, guide);
    let mut layers = Layers::make(&ground, found.cost, usize::MAX, work);
    if layers.dropped.is_some() || work.left() == 0 {
        return false;
    }
    layers.trim(&ground, found.cost);
    first(model, &ground, &layers, found, work)
}
