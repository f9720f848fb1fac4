//! What makes a problem one that can be planned: no contradictions, and every lock has its room.

use super::problem::{Order, Problem};
use std::collections::{HashMap, HashSet};
use std::hash::Hash;

/// Why a problem cannot be planned, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{error}")]
pub struct Unfit {
    /// A sentence a person understands.
    pub error: String,
    /// The path of the field, such as `reservations[2].current`.
    pub at: String,
}

fn unfit<T>(at: String, error: impl Into<String>) -> Result<T, Unfit> {
    Err(Unfit { at, error: error.into() })
}

/// The first thing given twice, by place.
fn repeated<T: Eq + Hash>(items: impl Iterator<Item = T>) -> Option<usize> {
    let mut seen = HashSet::new();
    items.enumerate().find_map(|(place, item)| (!seen.insert(item)).then_some(place))
}

/// Looks a problem through before it is planned.
///
/// # Errors
/// [`Unfit`]: something is given twice, too long or out of range, points at nothing, or a lock cannot be kept.
pub fn check(problem: &Problem) -> Result<(), Unfit> {
    if problem.heads.len() > Problem::MOST {
        return unfit("animals".into(), format!("The list is longer than {}", Problem::MOST));
    }
    if problem.orders.len() > Problem::MOST {
        return unfit("reservations".into(), format!("The list is longer than {}", Problem::MOST));
    }
    if !(1..=4).contains(&problem.open_custom_from) {
        return unfit("open_custom_from".into(), "A head has four quarters. Give 1, 2, 3 or 4");
    }
    if let Some(i) = repeated(problem.heads.iter().map(|h| &h.id)) {
        return unfit(format!("animals[{i}].id"), "Another animal has this id. Give each its own");
    }
    if let Some(i) = repeated(problem.orders.iter().map(|o| &o.id)) {
        return unfit(format!("reservations[{i}].id"), "Another reservation has this id. Give each its own");
    }
    for (i, head) in problem.heads.iter().enumerate() {
        if head.taken.iter().any(|side| *side > 2) {
            return unfit(format!("animals[{i}].taken"), "A side has only two quarters. More than that is taken here");
        }
    }
    for (i, order) in problem.orders.iter().enumerate() {
        check_order(problem, i, order)?;
    }
    check_sheets(problem)?;
    check_locks(problem)
}

fn check_order(problem: &Problem, i: usize, order: &Order) -> Result<(), Unfit> {
    if let Some(date) = repeated(order.dates.iter()) {
        return unfit(format!("reservations[{i}].dates[{date}]"), "This date is listed twice. List it once");
    }
    if let (Some(low), Some(high)) = order.asked
        && low > high
    {
        return unfit(format!("reservations[{i}].weight"), "“low” is more than “high”. Give the smaller weight as low");
    }
    if let Some(now) = order.current
        && now.spot.head >= problem.heads.len()
    {
        return unfit(format!("reservations[{i}].current.animal"), "No animal has this id. Give one of the animals");
    }
    Ok(())
}

fn check_sheets(problem: &Problem) -> Result<(), Unfit> {
    for (i, pair) in problem.sheet_differences.iter().enumerate() {
        if pair.a >= problem.orders.len() || pair.b >= problem.orders.len() {
            return unfit(
                format!("sheet_differences[{i}]"),
                "No reservation has this id. Give two of the reservations",
            );
        }
        if pair.a == pair.b {
            return unfit(format!("sheet_differences[{i}]"), "These are the same reservation. Give two different ones");
        }
        if pair.blocks > Problem::MOST_BLOCKS {
            let error = format!("This is more than {} blocks", Problem::MOST_BLOCKS);
            return unfit(format!("sheet_differences[{i}].blocks"), error);
        }
    }
    let pairs = problem.sheet_differences.iter().map(|p| (p.a.min(p.b), p.a.max(p.b)));
    match repeated(pairs) {
        Some(i) => unfit(format!("sheet_differences[{i}]"), "This pair is listed twice. List it once"),
        None => Ok(()),
    }
}

fn check_locks(problem: &Problem) -> Result<(), Unfit> {
    let mut used: HashMap<usize, [u8; 2]> = HashMap::new();
    for (i, order) in problem.orders.iter().enumerate() {
        let Some(now) = order.current.filter(|now| now.locked) else { continue };
        let Some(head) = problem.heads.get(now.spot.head) else { continue };
        let at = || format!("reservations[{i}].current");
        if head.species != order.species {
            let error = format!(
                "It is locked on {}, a {}, but asks for {}. Unlock it or lock it elsewhere",
                head.id, head.species, order.species
            );
            return unfit(at(), error);
        }
        let Some(wanted) = now.spot.sides.quarters(order.size) else {
            let error = format!(
                "A {} cannot hang on the {}. A whole takes both sides, a half or a quarter one",
                order.size,
                now.spot.sides.label()
            );
            return unfit(at(), error);
        };
        let full = used.entry(now.spot.head).or_insert(head.taken);
        for (side, quarters) in full.iter_mut().zip(wanted) {
            *side += quarters;
            if *side > 2 {
                let error = format!(
                    "There is no room for it on {} where it is locked. Unlock it or what is in its way",
                    head.id
                );
                return unfit(at(), error);
            }
        }
    }
    Ok(())
}
