//! The farm's answer to what the processor entered: taken into the book, or refused with words.
//!
//! A weight is taken through [`super::record_weights`], the same rules as when the farmer types it; nothing is billed before.

use super::record_weights::{Fate as Recorded, Recorded as Done, WeighForm, WeighRow, record_weights};
use super::{Doing, Failure, Problems};
use crate::book::ids::{AnimalId, DateId, PlantEntryId};
use crate::book::plant_entries;
use crate::book::rows::plant_page::PlantEntry;
use crate::book::rows::plants::ProcessingDate;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{carcasses, dates};
use crate::trade::dates::full;
use crate::trade::plant_entry::{Carcass, Entered, Fate};
use crate::trade::vocabulary::EntryAnswer;
use chrono::NaiveDate;

/// The longest words of a refusal, in characters.
pub const WORDS: usize = 300;

/// One entry that is taken, as the page showed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// The entry.
    pub entry: PlantEntryId,
    /// The version of the animal's weigh-in that stood beside it; 0 when there was none, and for what is no weight.
    pub version: i64,
    /// The weights the farmer ticked as right, as [`super::record_weights::confirming`] writes them; empty when none.
    pub confirmed: String,
}

/// The field of an entry: `e12-ok`.
pub fn field(entry: PlantEntryId, what: &str) -> String {
    format!("e{entry}-{what}")
}

/// An entry's line of a weigh-in form.
pub fn row_of(animal: AnimalId, carcass: &Carcass, version: i64, confirmed: &str) -> WeighRow {
    let fate = match &carcass.fate {
        Fate::Hung { hung, condemned_parts } => {
            Recorded::Hung { hung: *hung, condemned_parts: condemned_parts.clone() }
        }
        Fate::Condemned(why) => Recorded::Condemned(why.clone()),
        Fate::Lost(why) => Recorded::Lost(why.clone()),
    };
    WeighRow {
        animal,
        version,
        fate,
        carcass_number: carcass.number.clone(),
        head_on: carcass.head_on,
        skin_on: carcass.skin_on,
        confirmed: confirmed.to_string(),
    }
}

/// Takes entries of a date into the book, all of them or none.
///
/// # Errors
/// Those of [`record_weights`], tied to the entries; [`Failure::Stale`] when the plant corrected one of them, or somebody typed a
/// weight, after the page was shown.
pub fn take(tx: &mut Tx, doing: &Doing, date: DateId, entries: &[Taken]) -> Result<Done, Failure> {
    let (mut all, mut problems) = (Done::default(), Problems::default());
    if entries.is_empty() {
        return Err(Failure::refuse("", "Nothing waits to be taken. Load the page again."));
    }
    for taken in entries {
        let entry = waiting(tx, date, taken.entry)?;
        match (entry.entered().map_err(Failure::Unexpected)?, entry.animal_id) {
            (Entered::Carcass(carcass), Some(animal)) => match weigh(tx, doing, date, animal, &carcass, taken) {
                Ok(done) => {
                    all.weighed += done.weighed;
                    all.gone += done.gone;
                    all.to_tell += done.to_tell;
                }
                Err(Failure::Refused(found)) => {
                    for p in found.0 {
                        problems.add(field(entry.id, if p.field.ends_with("-ok") { "ok" } else { "take" }), p.sentence);
                    }
                    continue;
                }
                Err(other) => return Err(other),
            },
            (Entered::Ready { on }, _) => ready(tx, doing, date, on)?,
            _ => {}
        }
        if !plant_entries::answer(tx, entry.id, EntryAnswer::Taken, &doing.actor, doing.now.at, "")? {
            return Err(Failure::Stale);
        }
    }
    problems.check()?;
    Ok(all)
}

/// Says that an entry is not taken, and why; the plant reads the words.
///
/// # Errors
/// [`Failure::Refused`] without words; [`Failure::Stale`] when the plant corrected it in between.
pub fn refuse(tx: &mut Tx, doing: &Doing, date: DateId, id: PlantEntryId, words: &str) -> Result<(), Failure> {
    if words.trim().is_empty() {
        return Err(Failure::refuse(field(id, "words"), "Say why, so that the plant knows what to look at."));
    }
    let entry = waiting(tx, date, id)?;
    if !plant_entries::answer(tx, id, EntryAnswer::Refused, &doing.actor, doing.now.at, words)? {
        return Err(Failure::Stale);
    }
    let line = Line {
        line: format!("What the plant entered ({}) was not taken", entry.kind.label()),
        detail: format!("The plant reads: “{words}”"),
        date: Some(date),
        animal: entry.animal_id,
        reservation: entry.reservation_id,
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

fn waiting(tx: &mut Tx, date: DateId, id: PlantEntryId) -> Result<PlantEntry, Failure> {
    let entry = plant_entries::get(tx.conn(), id)?;
    if entry.date_id != date {
        return Err(Failure::NotFound);
    }
    if entry.waits() { Ok(entry) } else { Err(Failure::Stale) }
}

fn weigh(
    tx: &mut Tx,
    doing: &Doing,
    date: DateId,
    animal: AnimalId,
    carcass: &Carcass,
    taken: &Taken,
) -> Result<Done, Failure> {
    let stored = carcasses::weigh_ins(tx.conn(), &[animal])?.remove(&animal);
    if stored.map_or(0, |w| w.version) != taken.version {
        return Err(Failure::Stale);
    }
    let form = WeighForm {
        date,
        basis: carcass.basis,
        weighed_on: carcass.weighed_on,
        for_saved_too: true,
        rows: vec![row_of(animal, carcass, taken.version, &taken.confirmed)],
    };
    match record_weights(tx, doing, &form) {
        // The animal went to another date after the plant entered it.
        Err(Failure::NotFound) => {
            Err(Failure::refuse("", "This animal is not on this date any more. Do not take it; say so to the plant."))
        }
        other => other,
    }
}

/// The first day of pickup is the day the plant said; a last day before it is taken out.
fn ready(tx: &mut Tx, doing: &Doing, date: DateId, on: NaiveDate) -> Result<(), Failure> {
    let (stored, _) = dates::get(tx.conn(), date)?;
    if stored.pickup_from == Some(on) {
        return Ok(());
    }
    let version = stored.version;
    let changed =
        ProcessingDate { pickup_from: Some(on), pickup_to: stored.pickup_to.filter(|last| *last >= on), ..stored };
    if !dates::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let line = format!("Pickup begins on {}, as the plant said", full(on));
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(date), ..Line::default() })?)
}
