//! What processors entered on their pages, what became of it, and which packets they have.

use super::at::At;
use super::conn::DbConn;
use super::dates::DateDue;
use super::ids::{AnimalId, DateId, PacketId, PlantEntryId, ReservationId};
use super::rows::plant_page::{NewPlantEntry, PacketReceipt, PlantEntry};
use super::schema::{packet, packet_receipt, plant_entry, plant_link, processing_date, processor};
use super::store::Tx;
use crate::trade::plant_entry::{Boxes, Entered};
use crate::trade::vocabulary::{EntryAnswer, EntryKind};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// Entries of one date that are looked at, at most: far above forty head with a dozen corrections each.
const MOST: i64 = 5_000;

impl PlantEntry {
    /// What was entered.
    ///
    /// # Errors
    /// A sentence for the log when it cannot be read.
    pub fn entered(&self) -> Result<Entered, String> {
        Entered::read(&self.document)
    }
    /// Whether it waits for the farm.
    pub const fn waits(&self) -> bool {
        self.answer.is_none()
    }
}

/// What an entry is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// A head.
    Animal(AnimalId),
    /// A share.
    Order(ReservationId),
    /// The whole date.
    Date,
}

impl Subject {
    const fn ids(self) -> (Option<AnimalId>, Option<ReservationId>) {
        match self {
            Self::Animal(id) => (Some(id), None),
            Self::Order(id) => (None, Some(id)),
            Self::Date => (None, None),
        }
    }
}

/// All entries of a date, newest first.
///
/// # Errors
/// The database's own.
pub fn of_date(c: &mut DbConn, date: DateId) -> QueryResult<Vec<PlantEntry>> {
    plant_entry::table
        .filter(plant_entry::date_id.eq(date))
        .order(plant_entry::id.desc())
        .limit(MOST)
        .select(PlantEntry::as_select())
        .load(c)
}

/// The newest revision about something on a date.
///
/// # Errors
/// The database's own.
pub fn latest(c: &mut DbConn, date: DateId, kind: EntryKind, about: Subject) -> QueryResult<Option<PlantEntry>> {
    let all = of_date(c, date)?;
    let ids = about.ids();
    Ok(all.into_iter().find(|e| e.kind == kind && (e.animal_id, e.reservation_id) == ids))
}

/// One entry.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn get(c: &mut DbConn, id: PlantEntryId) -> QueryResult<PlantEntry> {
    plant_entry::table.find(id).select(PlantEntry::as_select()).first(c)
}

/// Adds an entry that waits.
///
/// # Errors
/// The database's own; a second one of the same revision, or a second one that waits, is refused by the table.
pub fn insert(tx: &mut Tx, about: Subject, new: NewPlantEntry) -> QueryResult<PlantEntryId> {
    let (animal_id, reservation_id) = about.ids();
    diesel::insert_into(plant_entry::table)
        .values(NewPlantEntry { animal_id, reservation_id, ..new })
        .returning(plant_entry::id)
        .get_result(tx.conn())
}

/// Answers an entry that waits; `false` when it does not wait any more.
///
/// # Errors
/// The database's own.
pub fn answer(tx: &mut Tx, id: PlantEntryId, answer: EntryAnswer, by: &str, at: At, words: &str) -> QueryResult<bool> {
    let waiting = plant_entry::table.filter(plant_entry::id.eq(id)).filter(plant_entry::answer.is_null());
    let n = diesel::update(waiting)
        .set((
            plant_entry::answer.eq(Some(answer)),
            plant_entry::answered_by.eq(by.to_string()),
            plant_entry::answered_at.eq(Some(at)),
            plant_entry::words.eq(words.to_string()),
        ))
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// Dates with entries that wait, the soonest first; `count` is how many.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn) -> QueryResult<Vec<DateDue>> {
    let counted: Vec<(DateId, i64)> = plant_entry::table
        .filter(plant_entry::answer.is_null())
        .group_by(plant_entry::date_id)
        .select((plant_entry::date_id, diesel::dsl::count_star()))
        .load(c)?;
    let counts: HashMap<DateId, i64> = counted.into_iter().collect();
    let rows: Vec<(DateId, NaiveDate, Option<NaiveDate>, String)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq_any(counts.keys().copied().collect::<Vec<_>>()))
        .order((processing_date::kill_on, processing_date::id))
        .select((processing_date::id, processing_date::kill_on, processing_date::sheets_due, processor::name))
        .load(c)?;
    let due = rows.into_iter().map(|(date, kill_on, sheets_due, processor)| DateDue {
        date,
        kill_on,
        sheets_due,
        processor,
        count: counts.get(&date).copied().unwrap_or(0),
    });
    Ok(due.collect())
}

/// Entries that wait and that the farm was not mailed about, oldest first.
///
/// # Errors
/// The database's own.
pub fn untold(c: &mut DbConn) -> QueryResult<Vec<PlantEntry>> {
    plant_entry::table
        .filter(plant_entry::answer.is_null())
        .filter(plant_entry::told_at.is_null())
        .order(plant_entry::id)
        .limit(MOST)
        .select(PlantEntry::as_select())
        .load(c)
}

/// Notes that the farm was mailed about them.
///
/// # Errors
/// The database's own.
pub fn mark_told(tx: &mut Tx, ids: &[PlantEntryId], at: At) -> QueryResult<()> {
    diesel::update(plant_entry::table.filter(plant_entry::id.eq_any(ids.to_vec())))
        .set(plant_entry::told_at.eq(Some(at)))
        .execute(tx.conn())?;
    Ok(())
}

/// The boxes and packaged weights that the farm took, by order: the newest of each.
///
/// # Errors
/// The database's own. An entry that cannot be read is passed over; `gambrel check` names it.
pub fn boxes_of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Boxes>> {
    let ids: Vec<Option<ReservationId>> = orders.iter().copied().map(Some).collect();
    let rows: Vec<PlantEntry> = plant_entry::table
        .filter(plant_entry::reservation_id.eq_any(ids))
        .filter(plant_entry::kind.eq(EntryKind::Boxes))
        .filter(plant_entry::answer.eq(EntryAnswer::Taken))
        .order(plant_entry::id)
        .select(PlantEntry::as_select())
        .load(c)?;
    let read = rows.into_iter().filter_map(|e| match e.entered() {
        Ok(Entered::Boxes(boxes)) => Some((e.reservation_id?, boxes)),
        _ => None,
    });
    Ok(read.collect())
}

/// The plant has a packet; `false` when that was said before.
///
/// # Errors
/// The database's own.
pub fn receive(tx: &mut Tx, new: &PacketReceipt) -> QueryResult<bool> {
    if packet_receipt::table
        .find(new.packet_id)
        .select(PacketReceipt::as_select())
        .first(tx.conn())
        .optional()?
        .is_some()
    {
        return Ok(false);
    }
    diesel::insert_into(packet_receipt::table).values(new.clone()).execute(tx.conn())?;
    Ok(true)
}

/// What the plant said of the packets of a date.
///
/// # Errors
/// The database's own.
pub fn receipts(c: &mut DbConn, date: DateId) -> QueryResult<HashMap<PacketId, PacketReceipt>> {
    let rows: Vec<PacketReceipt> = packet_receipt::table
        .inner_join(packet::table)
        .filter(packet::date_id.eq(date))
        .select(PacketReceipt::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|r| (r.packet_id, r)).collect())
}

/// A packet that was sent and that the plant did not acknowledge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unacknowledged {
    /// The date.
    pub date: DateId,
    /// The day of slaughter.
    pub kill_on: NaiveDate,
    /// The plant.
    pub processor: String,
    /// The packet's number.
    pub number: i64,
    /// When it was sent.
    pub sent_at: At,
}

/// The last packet sent of each coming date, where the plant can acknowledge it by a link and did not; soonest date first. `before`:
/// only those that were sent before this instant.
///
/// # Errors
/// The database's own.
pub fn unacknowledged(c: &mut DbConn, today: NaiveDate, before: At) -> QueryResult<Vec<Unacknowledged>> {
    let rows: Vec<(DateId, i64, Option<At>, NaiveDate, String, Option<At>)> = packet::table
        .inner_join(processing_date::table.inner_join(processor::table))
        .left_join(packet_receipt::table)
        .filter(processing_date::kill_on.ge(today))
        .filter(processing_date::cancelled_at.is_null())
        .filter(packet::sent_at.is_not_null())
        .filter(diesel::dsl::exists(
            plant_link::table
                .filter(plant_link::date_id.eq(processing_date::id))
                .filter(plant_link::revoked_at.is_null()),
        ))
        .order((processing_date::kill_on, processing_date::id, packet::number.desc()))
        .select((
            packet::date_id,
            packet::number,
            packet::sent_at,
            processing_date::kill_on,
            processor::name,
            packet_receipt::received_at.nullable(),
        ))
        .load(c)?;
    let mut seen = std::collections::HashSet::new();
    let mut open = Vec::new();
    for (date, number, sent_at, kill_on, processor, received) in rows {
        if !seen.insert(date) || received.is_some() {
            continue;
        }
        if let Some(sent_at) = sent_at.filter(|at| *at < before) {
            open.push(Unacknowledged { date, kill_on, processor, number, sent_at });
        }
    }
    Ok(open)
}
