//! Entering what an animal or a lot cost, correcting it, taking it back.

use super::{Doing, Failure, Problems};
use crate::book::animals;
use crate::book::costs::{self, Lot};
use crate::book::ids::{AnimalId, CostId};
use crate::book::rows::costs::{Cost, NewCost};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::costs::{CostKind, MOST_HEAD, SharedBy};
use crate::trade::dates::full;
use crate::trade::money::Money;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// The highest amount of one cost: a million dollars.
pub const MOST: Money = Money::from_cents(100_000_000);

/// A cost as it is entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostIn {
    /// What for.
    pub kind: CostKind,
    /// The day it counts for.
    pub on: NaiveDate,
    /// What it was, in words; may be empty.
    pub words: String,
    /// How much in all.
    pub amount: Money,
    /// How it is shared among several animals.
    pub by: SharedBy,
    /// The animals, one or more.
    pub animals: Vec<AnimalId>,
}

/// "Feed, $240.00 for 3 animals".
pub fn in_words(kind: CostKind, amount: Money, animals: usize) -> String {
    let of = if animals == 1 { String::new() } else { format!(" for {animals} animals") };
    let mut words = kind.label().to_string();
    if let Some(first) = words.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    format!("{words}, {}{of}", amount.dollars())
}

fn look(tx: &mut Tx, doing: &Doing, new: &CostIn) -> Result<Vec<AnimalId>, Failure> {
    let mut problems = Problems::default();
    let head: BTreeSet<AnimalId> = new.animals.iter().copied().collect();
    if head.is_empty() {
        problems.add("animals", "Tick the animal or animals it was for.");
    }
    if head.len() > MOST_HEAD {
        problems.add("animals", format!("That is more than {MOST_HEAD} animals. Enter it in parts."));
    }
    if !new.amount.is_positive() || new.amount > MOST {
        problems.add("amount", format!("Write an amount above nothing and up to {}.", MOST.dollars()));
    }
    if new.on > doing.now.today {
        problems.add("on_day", "That day is in the future. Write the day you bought it or were billed.");
    }
    problems.check()?;
    let head: Vec<AnimalId> = head.into_iter().collect();
    if animals::many(tx.conn(), &head)?.len() != head.len() {
        return Err(Failure::refuse(
            "animals",
            "One of these animals is not in the book any more. Open the page again.",
        ));
    }
    Ok(head)
}

/// Enters a cost.
///
/// # Errors
/// [`Failure::Refused`] without an animal, without an amount, or for a day in the future.
pub fn enter_cost(tx: &mut Tx, doing: &Doing, new: &CostIn) -> Result<CostId, Failure> {
    let head = look(tx, doing, new)?;
    let row = NewCost {
        kind: new.kind,
        on_day: new.on,
        words: new.words.clone(),
        amount: new.amount,
        shared_by: new.by,
        made_at: doing.now.at,
    };
    let id = costs::insert(tx, &row, &head)?;
    let line = format!("{} was entered as a cost", in_words(new.kind, new.amount, head.len()));
    tell(tx, doing, &head, &line, &particulars(new))?;
    Ok(id)
}

/// Corrects a cost.
///
/// # Errors
/// As [`enter_cost`]; [`Failure::Stale`] when somebody saved in between; refused when it was taken back.
pub fn change_cost(tx: &mut Tx, doing: &Doing, id: CostId, new: &CostIn, version: i64) -> Result<(), Failure> {
    let stored = costs::get(tx.conn(), id)?;
    counts(&stored)?;
    let head = look(tx, doing, new)?;
    let changed = Cost {
        kind: new.kind,
        on_day: new.on,
        words: new.words.clone(),
        amount: new.amount,
        shared_by: new.by,
        ..stored.cost.clone()
    };
    let before: Vec<AnimalId> = stored.heads.iter().map(|h| h.animal).collect();
    if changed == stored.cost && before == head && stored.cost.version == version {
        return Ok(());
    }
    if !costs::save(tx, &changed, &head, version)? {
        return Err(Failure::Stale);
    }
    let was = in_words(stored.cost.kind, stored.cost.amount, before.len());
    let is = in_words(new.kind, new.amount, head.len());
    let line = if was == is {
        format!("The cost “{is}” was corrected")
    } else {
        format!("A cost was “{was}” and is “{is}”")
    };
    let both: BTreeSet<AnimalId> = before.into_iter().chain(head).collect();
    tell(tx, doing, &both.into_iter().collect::<Vec<_>>(), &line, &particulars(new))
}

/// Takes a cost back that was entered by mistake; the story keeps it.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; refused when it was taken back already.
pub fn take_back_cost(tx: &mut Tx, doing: &Doing, id: CostId, version: i64) -> Result<(), Failure> {
    let stored = costs::get(tx.conn(), id)?;
    counts(&stored)?;
    let head: Vec<AnimalId> = stored.heads.iter().map(|h| h.animal).collect();
    let gone = Cost { taken_back_at: Some(doing.now.at), ..stored.cost.clone() };
    if !costs::save(tx, &gone, &head, version)? {
        return Err(Failure::Stale);
    }
    let line = format!("The cost “{}” was taken back", in_words(gone.kind, gone.amount, head.len()));
    tell(tx, doing, &head, &line, "")
}

fn counts(lot: &Lot) -> Result<(), Failure> {
    match lot.cost.taken_back_at {
        None => Ok(()),
        Some(_) => Err(Failure::refuse("", "This cost was taken back. Enter a new one.")),
    }
}

fn particulars(new: &CostIn) -> String {
    let shared = if new.animals.len() > 1 { format!(", shared {}", new.by.label()) } else { String::new() };
    let words = if new.words.is_empty() { String::new() } else { format!("{}. ", new.words.trim_end_matches('.')) };
    format!("{words}Of {}{shared}.", full(new.on))
}

/// One line in the story of each animal.
fn tell(tx: &mut Tx, doing: &Doing, head: &[AnimalId], line: &str, detail: &str) -> Result<(), Failure> {
    for animal in head {
        let line = Line { line: line.into(), detail: detail.into(), animal: Some(*animal), ..Line::default() };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}
