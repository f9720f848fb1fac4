//! What the processor enters on its page: kept apart, every revision of it, until the farm takes it or says why not.
//!
//! Nothing here touches weights, bills or dates; [`super::answer_entry`] does, by the farmer's button.

use super::{Doing, Failure};
use crate::book::ids::{DateId, PacketId};
use crate::book::plant_entries::{self, Subject};
use crate::book::rows::plant_page::{NewPlantEntry, PacketReceipt};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, dates, farm, placements, sheets};
use crate::trade::dates::full;
use crate::trade::plant_entry::{Boxes, Carcass, Entered, Fate};
use crate::trade::vocabulary::{EntryAnswer, EntryKind};

/// What the plant enters about something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What it is about.
    pub about: Subject,
    /// The revision the form was opened with; 0 when there was none. Of a note it says nothing.
    pub seen: i64,
    /// What is entered.
    pub entered: Entered,
    /// Who at the plant.
    pub by: String,
}

/// Keeps an entry; it waits for the farm. What says the same as the newest revision, and was not refused, changes nothing.
///
/// # Errors
/// [`Failure::Refused`] for days that cannot be, [`Failure::NotFound`] for a head or share that is not on this date,
/// [`Failure::Stale`] when somebody else at the plant entered something about it in between.
pub fn enter(tx: &mut Tx, doing: &Doing, date: DateId, entry: &Entry) -> Result<(), Failure> {
    let said = words_of(tx, doing, date, entry)?;
    let kind = entry.entered.kind();
    let document = entry.entered.document().map_err(Failure::Unexpected)?;
    let latest = plant_entries::latest(tx.conn(), date, kind, entry.about)?;
    let last = latest.as_ref().map_or(0, |e| e.revision);
    if kind != EntryKind::Note {
        if last != entry.seen {
            return Err(Failure::Stale);
        }
        if let Some(old) = latest {
            if old.document == document && old.answer != Some(EntryAnswer::Refused) {
                return Ok(());
            }
            if old.waits() && !plant_entries::answer(tx, old.id, EntryAnswer::Replaced, &entry.by, doing.now.at, "")? {
                return Err(Failure::Stale);
            }
        }
    }
    let new = NewPlantEntry {
        date_id: date,
        kind,
        animal_id: None,
        reservation_id: None,
        revision: last.saturating_add(1),
        document,
        entered_by: entry.by.clone(),
        entered_at: doing.now.at,
    };
    plant_entries::insert(tx, entry.about, new)?;
    let (animal, reservation) = match entry.about {
        Subject::Animal(id) => (Some(id), None),
        Subject::Order(id) => (None, Some(id)),
        Subject::Date => (None, None),
    };
    let detail = "It waits for you on the page of the date.".to_string();
    let line = Line { line: said, detail, date: Some(date), animal, reservation, ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// Looks whether it can be, and says it in the story's words.
fn words_of(tx: &mut Tx, doing: &Doing, date: DateId, entry: &Entry) -> Result<String, Failure> {
    let unit = farm::get(tx.conn())?.unit;
    let (d, _) = dates::get(tx.conn(), date)?;
    match (&entry.entered, entry.about) {
        (Entered::Carcass(carcass), Subject::Animal(id)) => {
            let animal = animals::get(tx.conn(), id)?;
            if animal.date_id != Some(date) {
                return Err(Failure::NotFound);
            }
            if animal.lost_on.is_some() {
                let sentence = format!("The farm has written {} down as lost. Call the farm.", animal.name());
                return Err(Failure::refuse("", sentence));
            }
            may_be(carcass, d.kill_on, doing)?;
            Ok(format!("The plant entered for {}: {}", animal.name(), carcass.says(unit.as_str())?))
        }
        (Entered::Boxes(boxes), Subject::Order(order)) => {
            let share = placements::shares_of(tx.conn(), &[order])?.into_iter().next().ok_or(Failure::NotFound)?;
            if animals::get(tx.conn(), share.animal)?.date_id != Some(date) {
                return Err(Failure::NotFound);
            }
            Ok(format!("The plant entered for {}: {}", share.name, Boxes::says(boxes, unit.as_str())))
        }
        (Entered::Ready { on }, Subject::Date) => {
            if *on < d.kill_on {
                let sentence = format!("That is before the day of slaughter, {}. Write a later day.", full(d.kill_on));
                return Err(Failure::refuse("on", sentence));
            }
            Ok(format!("The plant entered that everything is ready on {}", full(*on)))
        }
        (Entered::Note { words }, Subject::Date) => Ok(format!("The plant wrote: “{words}”")),
        _ => Err(Failure::NotFound),
    }
}

fn may_be(carcass: &Carcass, kill_on: chrono::NaiveDate, doing: &Doing) -> Result<(), Failure> {
    if carcass.weighed_on > doing.now.today {
        return Err(Failure::refuse("day", "That day is in the future. Write the day it was weighed."));
    }
    if carcass.weighed_on < kill_on && matches!(carcass.fate, Fate::Hung { .. }) {
        let sentence =
            format!("Carcasses cannot be weighed before the day of slaughter, {}. Correct the day.", full(kill_on));
        return Err(Failure::refuse("day", sentence));
    }
    Ok(())
}

/// The plant has a packet of its date.
///
/// # Errors
/// [`Failure::NotFound`] when it is not a packet of this date that was sent; [`Failure::Refused`] when that was said before.
pub fn receive_packet(tx: &mut Tx, doing: &Doing, date: DateId, id: PacketId, by: &str) -> Result<(), Failure> {
    let packet = sheets::packet(tx.conn(), id)?;
    if packet.date_id != date || packet.sent_at.is_none() {
        return Err(Failure::NotFound);
    }
    let new = PacketReceipt { packet_id: id, received_by: by.to_string(), received_at: doing.now.at };
    if !plant_entries::receive(tx, &new)? {
        return Err(Failure::refuse("", format!("That packet {} is here was said already. Thank you.", packet.number)));
    }
    let line = Line {
        line: format!("The plant has packet {}, says {by}", packet.number),
        date: Some(date),
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
