//! Live weights and drug treatments of an animal.

use super::{Doing, Failure};
use crate::book::ids::{AnimalId, LiveWeightId, TreatmentId};
use crate::book::rows::animals::{NewLiveWeight, NewTreatment};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, dates, farm};
use crate::trade::dates::full;
use crate::trade::live_weight;
use crate::trade::vocabulary::WeighMethod;
use crate::trade::weight::Weight;
use chrono::NaiveDate;

/// How a live weight was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weighed {
    /// On a scale.
    Scale(Weight),
    /// Girth and length in hundredths of an inch or centimeter.
    Tape {
        /// Heart girth.
        girth: i64,
        /// Length.
        length: i64,
    },
}

/// Records a live weight; one from girth and length is an estimate and is never billed.
///
/// # Errors
/// [`Failure::Refused`] for a day in the future, or a girth and length no animal has.
pub fn record_live_weight(
    tx: &mut Tx,
    doing: &Doing,
    id: AnimalId,
    weighed_on: NaiveDate,
    weighed: Weighed,
) -> Result<Weight, Failure> {
    let animal = animals::get(tx.conn(), id)?;
    if weighed_on > doing.now.today {
        return Err(Failure::refuse("weighed_on", "That day is in the future. Write the day it was weighed."));
    }
    let unit = farm::get(tx.conn())?.unit;
    let (weight, method, girth, length) = match weighed {
        Weighed::Scale(weight) => (weight, WeighMethod::Scale, None, None),
        Weighed::Tape { girth, length } => {
            let weight = live_weight::estimate(animal.species, girth, length, unit)
                .map_err(|e| Failure::refuse("girth", format!("{e}. Measure again.")))?;
            (weight, WeighMethod::Girth, Some(girth), Some(length))
        }
    };
    let new = NewLiveWeight { animal_id: id, weighed_on, weight, method, girth, length, created_at: doing.now.at };
    animals::add_live_weight(tx, &new)?;
    let about = if method == WeighMethod::Girth { "about " } else { "" };
    tell(tx, doing, id, format!("Weighed alive on {}: {about}{} {unit}", full(weighed_on), weight.short()))?;
    Ok(weight)
}

/// Takes back a live weight that was entered by mistake; the story keeps it.
///
/// # Errors
/// [`Failure::NotFound`] when there is none.
pub fn take_back_live_weight(tx: &mut Tx, doing: &Doing, id: AnimalId, row: LiveWeightId) -> Result<(), Failure> {
    let weights = animals::live_weights(tx.conn(), id)?;
    let stored = weights.into_iter().find(|w| w.id == row).ok_or(Failure::NotFound)?;
    animals::remove_live_weight(tx, row)?;
    tell(
        tx,
        doing,
        id,
        format!("The live weight of {} ({}) was taken back", full(stored.weighed_on), stored.weight.short()),
    )
}

/// A drug that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// Product.
    pub product: String,
    /// Day of the last dose.
    pub last_dose_on: NaiveDate,
    /// Hour of the last dose as `HH:MM`, or empty.
    pub last_dose_time: String,
    /// Withdrawal days by the label or the veterinarian, 0 to 1,000.
    pub withdrawal_days: i64,
    /// The farm's own notes.
    pub notes: String,
}

/// What a treatment means for the date the animal is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clear {
    /// First day on which the animal may be killed.
    pub earliest: NaiveDate,
    /// Whether the date it is booked for is too early.
    pub too_early: bool,
}

/// Records a treatment. It is saved even when the animal is on a date too early for it; then its pages say so until it is
/// moved.
///
/// # Errors
/// [`Failure::Refused`] for a dose in the future or a period that cannot be reckoned.
pub fn record_treatment(tx: &mut Tx, doing: &Doing, id: AnimalId, given: &Given) -> Result<Clear, Failure> {
    let animal = animals::get(tx.conn(), id)?;
    if given.last_dose_on > doing.now.today {
        return Err(Failure::refuse(
            "last_dose_on",
            "That day is in the future. Enter the treatment when the last dose was given.",
        ));
    }
    let g = given.clone();
    animals::add_treatment(
        tx,
        &NewTreatment {
            animal_id: id,
            product: g.product,
            last_dose_on: g.last_dose_on,
            last_dose_time: g.last_dose_time,
            withdrawal_days: g.withdrawal_days,
            notes: g.notes,
            created_at: doing.now.at,
        },
    )?;
    let all = animals::treatments(tx.conn(), &[id])?;
    let earliest = animals::earliest_kill_day(&all)
        .map_err(|e| Failure::refuse("withdrawal_days", format!("{e}.")))?
        .unwrap_or(given.last_dose_on);
    let kill_on = match animal.date_id {
        Some(date) => Some(dates::get(tx.conn(), date)?.0.kill_on),
        None => None,
    };
    tell(
        tx,
        doing,
        id,
        format!(
            "{} was given, last on {}; {} days of withdrawal, so not before {}",
            given.product,
            full(given.last_dose_on),
            given.withdrawal_days,
            full(earliest)
        ),
    )?;
    Ok(Clear { earliest, too_early: kill_on.is_some_and(|day| day < earliest) })
}

/// Takes back a treatment that was entered by mistake; the story keeps it.
///
/// # Errors
/// [`Failure::NotFound`] when there is none.
pub fn take_back_treatment(tx: &mut Tx, doing: &Doing, id: AnimalId, row: TreatmentId) -> Result<(), Failure> {
    let all = animals::treatments(tx.conn(), &[id])?;
    let stored = all.into_iter().find(|t| t.id == row).ok_or(Failure::NotFound)?;
    animals::remove_treatment(tx, row)?;
    tell(
        tx,
        doing,
        id,
        format!(
            "The treatment with {} (last dose {}, {} days) was taken back as entered by mistake",
            stored.product,
            full(stored.last_dose_on),
            stored.withdrawal_days
        ),
    )
}

fn tell(tx: &mut Tx, doing: &Doing, animal: AnimalId, line: String) -> Result<(), Failure> {
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, animal: Some(animal), ..Line::default() })?;
    Ok(())
}
