//! Putting an animal on a processing date, moving it to another one, or taking it off.

use super::{Doing, Failure, Problems};
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::animals::Animal;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, dates, placements};
use crate::trade::dates::full;
use chrono::NaiveDate;

/// How many head of a species a date has slots for, and how many are on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SlotsUsed {
    /// Booked.
    pub booked: i64,
    /// Used, without the animal asked about.
    pub used: i64,
}

/// The first day on which an animal may be killed if that is after `kill_on`.
///
/// # Errors
/// [`Failure::Refused`] when a period cannot be reckoned.
pub fn too_early(tx: &mut Tx, id: AnimalId, kill_on: NaiveDate) -> Result<Option<NaiveDate>, Failure> {
    let given = animals::treatments(tx.conn(), &[id])?;
    let earliest = animals::earliest_kill_day(&given).map_err(|e| Failure::refuse("date", format!("{e}.")))?;
    Ok(earliest.filter(|day| *day > kill_on))
}

/// Puts an animal on a date, or takes it off with `None`; its shares go with it. More head than slots must be confirmed with
/// `over_ok`.
///
/// # Errors
/// [`Failure::Refused`] inside a withdrawal period (with the earliest day), for a lost or weighed animal, a cancelled date,
/// or more head than slots without the confirmation; [`Failure::Stale`] when somebody changed the animal in between.
pub fn send_animal(
    tx: &mut Tx,
    doing: &Doing,
    id: AnimalId,
    version: i64,
    to: Option<DateId>,
    over_ok: bool,
) -> Result<(), Failure> {
    let animal = animals::get(tx.conn(), id)?;
    if animal.lost_on.is_some() {
        return Err(Failure::refuse("date", format!("{} is recorded as lost, so it goes nowhere.", animal.name())));
    }
    if carcasses::weigh_ins(tx.conn(), &[id])?.contains_key(&id) {
        let sentence = format!("{} is weighed in already, so it stays on its date.", animal.name());
        return Err(Failure::refuse("date", sentence));
    }
    if animal.date_id == to {
        return Ok(());
    }
    let line = match to {
        None => format!("{} was taken off its processing date", animal.name()),
        Some(date) => {
            let (booked, plant) = dates::get(tx.conn(), date)?;
            let mut problems = Problems::default();
            if booked.cancelled_at.is_some() {
                problems.add("date", "That date was cancelled. Choose another one.");
            }
            if let Some(day) = too_early(tx, id, booked.kill_on)? {
                problems.add(
                    "date",
                    format!(
                        "{} is inside a drug withdrawal period on {}. The earliest day is {}. Go by the product’s label, and ask your veterinarian when in doubt.",
                        animal.name(),
                        full(booked.kill_on),
                        full(day)
                    ),
                );
            }
            let slots = slots_used(tx, date, &animal)?;
            if slots.used >= slots.booked && !over_ok {
                problems.add(
                    "over_ok",
                    if slots.booked == 0 {
                        let (species, plant) = (animal.species.label(), &plant.name);
                        format!("No {species} slot is booked at {plant} that day. Ask the processor, then tick that it is right.")
                    } else {
                        format!(
                            "{} {} slots are booked at {} that day and {} are used. Ask the processor, then tick that it is right.",
                            slots.booked,
                            animal.species.label(),
                            plant.name,
                            slots.used
                        )
                    },
                );
            }
            problems.check()?;
            format!("{} goes to {} on {}", animal.name(), plant.name, full(booked.kill_on))
        }
    };
    let from = animal.date_id;
    let changed = Animal { date_id: to, ..animal };
    if !animals::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let told = Line { line, animal: Some(id), date: to.or(from), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, told.clone())?;
    for share in placements::shares_on(tx.conn(), &[id])? {
        let own = Line {
            animal: None,
            date: None,
            reservation: Some(share.reservation),
            customer: Some(share.customer),
            ..told.clone()
        };
        stories::tell(tx, doing.now.at, &doing.actor, own)?;
    }
    Ok(())
}

fn slots_used(tx: &mut Tx, date: DateId, animal: &Animal) -> Result<SlotsUsed, Failure> {
    let booked = dates::slots(tx.conn(), &[date])?;
    let booked = booked.iter().filter(|s| s.species == animal.species).map(|s| s.head).sum();
    let head = dates::head_on(tx.conn(), &[date])?;
    let used = head.iter().filter(|h| h.species == animal.species && h.animal != animal.id).count();
    Ok(SlotsUsed { booked, used: i64::try_from(used).unwrap_or(i64::MAX) })
}
