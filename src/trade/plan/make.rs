//! Puts the parts together into one plan.

use super::check::{Unfit, check};
use super::crossing::solve_all;
use super::model::Model;
use super::part::split;
use super::problem::{Problem, Spot};
use super::score::{Criterion, Score, score};
use super::work::Work;

/// How much better the first criterion that is not proven could still be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// The first criterion that is not proven; all before it are.
    pub criterion: Criterion,
    /// What no plan can surpass, in the unit of [`Score`].
    pub value: i64,
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// By reservation: its place; `None` when it is left out.
    pub places: Vec<Option<Spot>>,
    /// What the plan is worth.
    pub score: Score,
    /// `None` when it is proven that no plan is better.
    pub bound: Option<Bound>,
    /// Whether it is certain that it comes first among equal plans. A proven plan may lack this when the work ran out
    /// while its equals were compared; it is then one of the best all the same.
    pub first: bool,
}

/// Makes the best plan that can be found with about `milliseconds` of work, counted in steps and not by the clock.
///
/// # Errors
/// [`Unfit`] when the problem contradicts itself.
pub fn plan(problem: &Problem, milliseconds: u64) -> Result<Plan, Unfit> {
    check(problem)?;
    let model = Model::new(problem);
    let mut work = Work::of_milliseconds(milliseconds);
    let mut places: Vec<Option<Spot>> = model.wants.iter().map(|w| w.locked).collect();
    let parts = split(&model);
    let together = solve_all(&model, &parts, &mut work);
    for (want, place) in together.parts.iter().flat_map(|found| &found.places) {
        if let Some(slot) = places.get_mut(*want) {
            *slot = *place;
        }
    }
    let score = score(problem, &places);
    let (lost, floor) = (together.lost.fields(), together.floor.fields());
    let gaps = lost.iter().zip(floor).map(|(lost, floor)| lost - floor);
    let bound = Criterion::ALL.iter().zip(gaps).find(|(_, gap)| *gap != 0).map(|(criterion, gap)| {
        let value = if criterion.more_is_better() { score.of(*criterion) + gap } else { score.of(*criterion) - gap };
        Bound { criterion: *criterion, value }
    });
    Ok(Plan { places, score, bound, first: together.first })
}
