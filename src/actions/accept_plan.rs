//! Taking a proposal of the plan, whole or in part: looked at again from the ground up, in one transaction.
//!
//! The shares are moved by [`super::place_share::place_shares`], the one rule of who fits where.

use super::place_share::{Move, Target, place_shares, target_of};
use super::propose_plan::{fingerprint, is_barred, suits};
use super::{Doing, Failure, Problems};
use crate::book::acceptances;
use crate::book::ids::{AcceptanceId, DateId, ReservationId};
use crate::book::planning::{Situation, Wanted, situation};
use crate::book::rows::plan::{NewPlanAcceptance, PlanMove};
use crate::book::store::Tx;
use crate::trade::dates::full;
use crate::trade::share::Species;

/// One line of a proposal that is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Take {
    /// The order.
    pub reservation: ReservationId,
    /// Where its share hung when it was proposed.
    pub from: Option<Target>,
    /// Where it goes; `None` off its place.
    pub to: Option<Target>,
    /// Whether the farmer put it there by hand: then a date that does not suit is the farmer's word.
    pub by_hand: bool,
}

/// A proposal, or a part of it, to be taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accept {
    /// The fingerprint of what it rests on.
    pub basis: String,
    /// Of which species it was, or of all.
    pub species: Option<Species>,
    /// What is taken of it.
    pub lines: Vec<Take>,
}

/// The field that everything wrong is tied to.
const FIELD: &str = "take";

/// Moves the shares, all of them or none, and remembers what moved. Nobody is told by it.
///
/// # Errors
/// [`Failure::Refused`] when the book has moved on since the proposal was made, when a share cannot hang where it should, or
/// when nothing is taken; nothing is moved then.
pub fn accept_plan(tx: &mut Tx, doing: &Doing, accept: &Accept) -> Result<AcceptanceId, Failure> {
    if accept.lines.is_empty() {
        return Err(Failure::refuse(FIELD, "Tick at least one share."));
    }
    let now = situation(tx.conn(), doing.now.today, accept.species)?;
    if fingerprint(&now) != accept.basis {
        return Err(moved_on());
    }
    let mut problems = Problems::default();
    let mut moves = Vec::new();
    let mut rows = Vec::new();
    for line in &accept.lines {
        let Some(wanted) = now.orders.iter().find(|w| w.reservation.id == line.reservation) else {
            return Err(moved_on());
        };
        let is_there = wanted.share.as_ref().map(target_of);
        if is_there != line.from || moves.iter().any(|m: &Move| m.reservation == line.reservation) {
            return Err(moved_on());
        }
        if line.from == line.to {
            continue;
        }
        if let Some(sentence) = refusal(&now, wanted, line) {
            problems.add(FIELD, sentence);
        }
        moves.push(Move { reservation: line.reservation, to: line.to, field: FIELD.into() });
        rows.push(row(&now, line));
    }
    problems.check()?;
    if moves.is_empty() {
        return Err(Failure::refuse(FIELD, "Every share you ticked is there already. Nothing was moved."));
    }
    place_shares(tx, doing, &moves).map_err(in_part)?;
    let new = NewPlanAcceptance { accepted_at: doing.now.at, accepted_by: doing.actor.clone(), undoes: None };
    Ok(acceptances::add(tx, &new, &rows)?)
}

fn moved_on() -> Failure {
    Failure::refuse(
        FIELD,
        "The book has changed since this was proposed: an order, an animal, a date, a deposit or a place. Nothing was moved. The proposal below is new; look it over and take that one.",
    )
}

/// What the single rule of placing refuses may be for want of another line of the same proposal.
fn in_part(failure: Failure) -> Failure {
    match failure {
        Failure::Refused(mut p) => {
            p.add(FIELD, "Nothing was moved. Where one share makes room for another, tick both.");
            Failure::Refused(p)
        }
        other => other,
    }
}

fn refusal(now: &Situation, wanted: &Wanted, line: &Take) -> Option<String> {
    let (name, size) = (&wanted.name, wanted.reservation.size.label());
    let to = line.to?;
    let Some(animal) = now.head.iter().find(|a| a.id == to.animal) else {
        return Some(format!("The animal for the {size} of {name} has no coming date. Choose another one."));
    };
    if is_barred(now, animal) {
        return Some(format!(
            "{} is inside a drug withdrawal period on its date, so the {size} of {name} cannot go there.",
            animal.name()
        ));
    }
    let (date, _) = now.date_of(animal)?;
    (!line.by_hand && !suits(now, wanted, date.kill_on)).then(|| {
        format!("{} is not one of the dates that suit {name}. Put the share there by hand first.", full(date.kill_on))
    })
}

fn row(now: &Situation, line: &Take) -> PlanMove {
    let date = |t: Target| -> Option<DateId> { now.head.iter().find(|a| a.id == t.animal)?.date_id };
    PlanMove {
        acceptance_id: AcceptanceId(0),
        reservation_id: line.reservation,
        from_animal_id: line.from.map(|t| t.animal),
        from_sides: line.from.map(|t| t.spot.sides()),
        from_date_id: line.from.and_then(date),
        to_animal_id: line.to.map(|t| t.animal),
        to_sides: line.to.map(|t| t.spot.sides()),
        to_date_id: line.to.and_then(date),
        told_at: None,
    }
}
