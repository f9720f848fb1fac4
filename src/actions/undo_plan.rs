//! Taking the last acceptance of a plan back, while nothing else touched those shares.

use super::place_share::{Move, Spot, Target, place_shares, target_of};
use super::{Doing, Failure, Problems};
use crate::book::acceptances::{self, Moved, Named};
use crate::book::conn::DbConn;
use crate::book::ids::{AcceptanceId, AnimalId, DateId};
use crate::book::rows::plan::{NewPlanAcceptance, PlanMove};
use crate::book::store::Tx;
use crate::book::{animals, carcasses, placements};
use crate::trade::plan::Sides;
use chrono::NaiveDate;

/// A target as a move keeps it.
pub fn kept(animal: Option<AnimalId>, sides: Option<Sides>) -> Option<Target> {
    Some(Target { animal: animal?, spot: Spot::from(sides?) })
}

/// Why an acceptance cannot be taken back; empty when it can.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such acceptance; the database's own.
pub fn in_the_way(c: &mut DbConn, today: NaiveDate, id: AcceptanceId) -> Result<Vec<String>, Failure> {
    let (it, undone) = acceptances::get(c, id)?;
    if undone.is_some() {
        return Ok(vec!["It was taken back already.".into()]);
    }
    if it.undoes.is_some() {
        return Ok(vec!["This took another one back. Make a new plan instead.".into()]);
    }
    if acceptances::last(c)?.is_some_and(|last| last.id != id) {
        return Ok(vec!["Another plan was taken since. Only the last one can be taken back.".into()]);
    }
    let moves = acceptances::moves(c, id)?;
    let orders: Vec<_> = moves.iter().map(|m| m.reservation.id).collect();
    let hang = placements::shares_of(c, &orders)?;
    let named = acceptances::named(c, &moves)?;
    let head: Vec<_> = named.head.keys().copied().collect();
    let weighed = carcasses::weigh_ins(c, &head)?;
    let mut found = Vec::new();
    for m in &moves {
        let now = hang.iter().find(|s| s.reservation == m.reservation.id).map(target_of);
        let (name, size) = (&m.name, m.reservation.size.label());
        if m.reservation.cancelled_at.is_some() {
            found.push(format!("The order of {name} was cancelled since."));
        } else if now != kept(m.moved.to_animal_id, m.moved.to_sides) {
            found.push(format!("The {size} of {name} was moved again since."));
        } else if let Some(why) = gone(&named, &weighed, m, today) {
            found.push(why);
        }
    }
    found.extend(barred(c, &named, &moves)?);
    Ok(found)
}

/// Whether the animal a share came from still waits for the date it had then.
fn gone(
    named: &Named,
    weighed: &std::collections::HashMap<AnimalId, crate::book::rows::animals::WeighIn>,
    m: &Moved,
    today: NaiveDate,
) -> Option<String> {
    let from = named.head.get(&m.moved.from_animal_id?)?;
    let to = m.moved.to_animal_id.is_some_and(|id| weighed.contains_key(&id));
    let day = |id: Option<DateId>| id.and_then(|d| named.dates.get(&d)).map(|(d, _)| d.kill_on);
    let is_past = day(m.moved.from_date_id).is_some_and(|d| d < today);
    let is_gone = from.lost_on.is_some() || weighed.contains_key(&from.id) || from.date_id != m.moved.from_date_id;
    (is_gone || is_past || to)
        .then(|| format!("{}, where the share of {} was, is not as it was any more.", from.name(), m.name))
}

/// Animals that a drug withdrawal keeps shares off by now.
fn barred(c: &mut DbConn, named: &Named, moves: &[Moved]) -> Result<Vec<String>, Failure> {
    let back: Vec<AnimalId> = moves.iter().filter_map(|m| m.moved.from_animal_id).collect();
    let given = animals::treatments(c, &back)?;
    let mut found = Vec::new();
    for animal in named.head.values().filter(|a| back.contains(&a.id)) {
        let own: Vec<_> = given.iter().filter(|t| t.animal_id == animal.id).cloned().collect();
        let date = animal.date_id.and_then(|d| named.dates.get(&d)).map(|(d, _)| d.kill_on);
        let is_barred = match (animals::earliest_kill_day(&own), date) {
            (Ok(first), Some(date)) => first.is_some_and(|first| first > date),
            (Err(_), _) => true,
            (Ok(_), None) => false,
        };
        if is_barred {
            found.push(format!("{} is inside a drug withdrawal period on its date by now.", animal.name()));
        }
    }
    Ok(found)
}

/// Takes the last acceptance back: every share goes where it was. It is remembered as an acceptance of its own.
///
/// # Errors
/// [`Failure::Refused`] with what is in the way, and then nothing is moved; [`Failure::NotFound`] when there is no such one.
pub fn undo_plan(tx: &mut Tx, doing: &Doing, id: AcceptanceId) -> Result<AcceptanceId, Failure> {
    let mut problems = Problems::default();
    for sentence in in_the_way(tx.conn(), doing.now.today, id)? {
        problems.add("", sentence);
    }
    problems.check()?;
    let moves = acceptances::moves(tx.conn(), id)?;
    let back: Vec<Move> = moves
        .iter()
        .map(|m| Move {
            reservation: m.reservation.id,
            to: kept(m.moved.from_animal_id, m.moved.from_sides),
            field: String::new(),
        })
        .collect();
    place_shares(tx, doing, &back)?;
    let rows: Vec<PlanMove> = moves
        .iter()
        .map(|m| PlanMove {
            from_animal_id: m.moved.to_animal_id,
            from_sides: m.moved.to_sides,
            from_date_id: m.moved.to_date_id,
            to_animal_id: m.moved.from_animal_id,
            to_sides: m.moved.from_sides,
            to_date_id: m.moved.from_date_id,
            // Who was never told of the way there need not be told of the way back.
            told_at: if m.moved.told_at.is_some() { None } else { Some(doing.now.at) },
            ..m.moved.clone()
        })
        .collect();
    let new = NewPlanAcceptance { accepted_at: doing.now.at, accepted_by: doing.actor.clone(), undoes: Some(id) };
    Ok(acceptances::add(tx, &new, &rows)?)
}
