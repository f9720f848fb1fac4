//! Booking a processing date, changing it, and cancelling it.

use super::{Doing, Failure, Problems, plant_offer};
use crate::book::ids::{DateId, ProcessorId};
use crate::book::placements;
use crate::book::rows::plants::{NewProcessingDate, ProcessingDate};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, dates, farm, plant_links, plants, sheets_due};
use crate::trade::dates::{full, near};
use crate::trade::share::Species;
use chrono::NaiveDate;

/// What is booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DateFacts {
    /// The plant.
    pub processor: ProcessorId,
    /// Day of slaughter.
    pub kill_on: NaiveDate,
    /// When the animals are to be there.
    pub deliver_on: Option<NaiveDate>,
    /// Hour of delivery in words, or empty.
    pub deliver_time: String,
    /// Until when cutting instructions are due.
    pub sheets_due: Option<NaiveDate>,
    /// First day of pickup.
    pub pickup_from: Option<NaiveDate>,
    /// Last day of pickup.
    pub pickup_to: Option<NaiveDate>,
    /// The farm's own notes.
    pub notes: String,
    /// Head slots by species, 0 to 1,000 each.
    pub slots: Vec<(Species, i64)>,
}

impl DateFacts {
    fn check(&self) -> Problems {
        let mut problems = Problems::default();
        let kill = full(self.kill_on);
        if self.deliver_on.is_some_and(|day| day > self.kill_on) {
            problems
                .add("deliver_on", format!("Delivery is after the day of slaughter, {kill}. Choose an earlier day."));
        }
        if self.sheets_due.is_some_and(|day| day > self.kill_on) {
            problems.add(
                "sheets_due",
                format!("The cut-sheet deadline is after the day of slaughter, {kill}. Choose an earlier day."),
            );
        }
        if self.pickup_from.is_some_and(|day| day < self.kill_on) {
            problems
                .add("pickup_from", format!("Pickup begins before the day of slaughter, {kill}. Choose a later day."));
        }
        let first = self.pickup_from.unwrap_or(self.kill_on);
        if self.pickup_to.is_some_and(|day| day < first) {
            problems.add("pickup_to", "Pickup ends before it begins. Choose a later day.");
        }
        if self.slots.iter().all(|(_, head)| *head == 0) {
            problems.add("slots-beef", "Write for how many head of which species you have slots.");
        }
        problems
    }
}

/// Books a date.
///
/// # Errors
/// [`Failure::Refused`] when its days contradict each other or the plant is not used any more.
pub fn book_date(tx: &mut Tx, doing: &Doing, facts: &DateFacts) -> Result<DateId, Failure> {
    let plant = plants::get(tx.conn(), facts.processor)?;
    let mut problems = facts.check();
    if plant.retired_at.is_some() {
        problems.add("processor", format!("{} is off your list of processors. Choose another one.", plant.name));
    }
    problems.check()?;
    let f = facts.clone();
    let id = dates::add(
        tx,
        &NewProcessingDate {
            processor_id: f.processor,
            kill_on: f.kill_on,
            deliver_on: f.deliver_on,
            deliver_time: f.deliver_time,
            sheets_due: f.sheets_due,
            pickup_from: f.pickup_from,
            pickup_to: f.pickup_to,
            notes: f.notes,
            cancelled_at: None,
            created_at: doing.now.at,
        },
    )?;
    dates::set_slots(tx, id, &facts.slots)?;
    tell(tx, doing, id, format!("{} at {} was booked", full(facts.kill_on), plant.name))?;
    Ok(id)
}

/// Changes a date. An earlier day is refused when it would fall inside the withdrawal period of an animal on it.
///
/// # Errors
/// [`Failure::Refused`] as above; [`Failure::Stale`] when somebody saved in between.
pub fn change_date(tx: &mut Tx, doing: &Doing, id: DateId, version: i64, facts: &DateFacts) -> Result<(), Failure> {
    let (stored, _) = dates::get(tx.conn(), id)?;
    let mut problems = facts.check();
    let head = animals::on_date(tx.conn(), id)?;
    let ids: Vec<_> = head.iter().filter(|a| a.lost_on.is_none()).map(|a| a.id).collect();
    if facts.kill_on < stored.kill_on {
        let given = animals::treatments(tx.conn(), &ids)?;
        for animal in head.iter().filter(|a| ids.contains(&a.id)) {
            let own: Vec<_> = given.iter().filter(|t| t.animal_id == animal.id).cloned().collect();
            let earliest = animals::earliest_kill_day(&own).map_err(|e| Failure::refuse("kill_on", e.to_string()))?;
            if let Some(day) = earliest.filter(|day| *day > facts.kill_on && *day <= stored.kill_on) {
                problems.add(
                    "kill_on",
                    format!(
                        "{} is inside a withdrawal period then: the earliest day is {}. Take it off this date first, and ask your veterinarian when in doubt.",
                        animal.name(),
                        full(day)
                    ),
                );
            }
        }
    }
    if facts.processor != stored.processor_id && !carcasses::weigh_ins(tx.conn(), &ids)?.is_empty() {
        problems.add("processor", "Weights are recorded for this date, so the processor stays.");
    }
    problems.check()?;
    let f = facts.clone();
    let changed = ProcessingDate {
        processor_id: f.processor,
        kill_on: f.kill_on,
        deliver_on: f.deliver_on,
        deliver_time: f.deliver_time,
        sheets_due: f.sheets_due,
        pickup_from: f.pickup_from,
        pickup_to: f.pickup_to,
        notes: f.notes,
        ..stored.clone()
    };
    if !dates::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    dates::set_slots(tx, id, &facts.slots)?;
    if changed.processor_id != stored.processor_id {
        // The plant it was booked at before must not read on.
        plant_links::revoke_all(tx, id, doing.now.at)?;
        let (plant, farm) = (plants::get(tx.conn(), changed.processor_id)?, farm::get(tx.conn())?);
        let shares = sheets_due::on_dates(tx.conn(), &[id])?;
        let unfit = plant_offer::unfit(tx.conn(), &farm, doing.now.today, &[(&changed, &plant, &shares)])?;
        plant_offer::tell_unfit(tx, doing, &plant.name, &unfit)?;
    }
    let line = if stored.kill_on == changed.kill_on {
        "The booking was changed".to_string()
    } else {
        format!("Moved from {} to {}", near(stored.kill_on, doing.now.today), near(changed.kill_on, doing.now.today))
    };
    tell(tx, doing, id, line)
}

/// Cancels a date that nobody's animal is on.
///
/// # Errors
/// [`Failure::Refused`] while head are on it, naming them and whose shares they carry; [`Failure::Stale`] when somebody
/// saved in between.
pub fn cancel_date(tx: &mut Tx, doing: &Doing, id: DateId, version: i64, reason: &str) -> Result<(), Failure> {
    let (stored, plant) = dates::get(tx.conn(), id)?;
    let head: Vec<_> = animals::on_date(tx.conn(), id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
    if !head.is_empty() {
        let ids: Vec<_> = head.iter().map(|a| a.id).collect();
        let shares = placements::shares_on(tx.conn(), &ids)?;
        let names: Vec<_> = head.iter().map(crate::book::rows::animals::Animal::name).collect();
        let mut owners: Vec<_> = shares.iter().map(|s| s.name.clone()).collect();
        owners.dedup();
        let whose = if owners.is_empty() { String::new() } else { format!(", with shares of {}", owners.join(", ")) };
        let sentence = format!("On this date: {}{whose}. Move them to another date first.", names.join(", "));
        return Err(Failure::refuse("", sentence));
    }
    let changed = ProcessingDate { cancelled_at: Some(doing.now.at), ..stored };
    if !dates::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    plant_links::revoke_all(tx, id, doing.now.at)?;
    let mut line = Line {
        line: format!("{} at {} was cancelled", full(changed.kill_on), plant.name),
        date: Some(id),
        ..Line::default()
    };
    line.detail = reason.to_string();
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}

fn tell(tx: &mut Tx, doing: &Doing, date: DateId, line: String) -> Result<(), Failure> {
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(date), ..Line::default() })?;
    Ok(())
}
