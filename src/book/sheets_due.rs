//! Cut sheets and time: whose sheet is missing on which date, who was reminded, and what customers want changed late.

use super::at::At;
use super::conn::DbConn;
use super::dates;
use super::ids::{CustomerId, DateId, MessageId, ReservationId, SheetRequestId};
use super::rows::plants::{ProcessingDate, Processor};
use super::rows::sheets::{CutSheet, NewSheetRequest, SheetReminder, SheetRequest};
use super::schema::{animal, customer, packet, packet_sheet, placement, processing_date, reservation, sheet_reminder};
use super::schema::{message, sheet_request};
use super::sheets;
use super::sides::{self, SharedSide};
use super::store::Tx;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::{PaperKind, RequestDecision};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// A share with a place on a date, and its cut sheet if there is one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// The date.
    pub date: DateId,
    /// The order.
    pub reservation: ReservationId,
    /// The order's number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// The customer's mail address, or empty.
    pub mail: String,
    /// The customer's phone, or empty.
    pub phone: String,
    /// Whole, half or quarter.
    pub size: Size,
    /// What kind of quarter.
    pub part: Option<Part>,
    /// When the order was taken.
    pub taken_at: At,
    /// Its sheet.
    pub sheet: Option<CutSheet>,
}

impl Due {
    /// Whether its sheet is not there.
    pub fn is_missing(&self) -> bool {
        self.sheet.is_none()
    }
}

/// The shares on head of these dates that were not lost, by date and order.
///
/// # Errors
/// The database's own.
pub fn on_dates(c: &mut DbConn, dates: &[DateId]) -> QueryResult<Vec<Due>> {
    type Row = (Option<DateId>, ReservationId, String, CustomerId, String, String, String, Size, Option<Part>, At);
    let rows: Vec<Row> = placement::table
        .inner_join(animal::table)
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(animal::date_id.eq_any(dates.to_vec()))
        .filter(animal::lost_on.is_null())
        .filter(reservation::cancelled_at.is_null())
        .select((
            animal::date_id,
            reservation::id,
            reservation::number,
            customer::id,
            customer::name,
            customer::mail,
            customer::phone,
            reservation::size,
            reservation::part,
            reservation::taken_at,
        ))
        .distinct()
        .load(c)?;
    let orders: Vec<_> = rows.iter().map(|r| r.1).collect();
    let mut there = sheets::of(c, &orders)?;
    let mut all: Vec<Due> = rows
        .into_iter()
        .filter_map(|(date, reservation, number, customer, name, mail, phone, size, part, taken_at)| {
            let (date, sheet) = (date?, there.remove(&reservation));
            Some(Due { date, reservation, number, customer, name, mail, phone, size, part, taken_at, sheet })
        })
        .collect();
    all.sort_by_key(|d| (d.date, d.reservation));
    Ok(all)
}

/// The date an order's share has its place on.
///
/// # Errors
/// The database's own.
pub fn date_of(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<ProcessingDate>> {
    placement::table
        .inner_join(animal::table.inner_join(processing_date::table))
        .filter(placement::reservation_id.eq(order))
        .filter(animal::lost_on.is_null())
        .order(processing_date::kill_on)
        .select(ProcessingDate::as_select())
        .first(c)
        .optional()
}

/// The last packet of a date that was sent: its number, when, and which revisions stand in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    /// Its number.
    pub number: i64,
    /// When it was sent.
    pub at: At,
    /// The revisions in it.
    pub revisions: HashMap<ReservationId, i64>,
}

/// The last packet sent for each of these dates.
///
/// # Errors
/// The database's own.
pub fn sent(c: &mut DbConn, dates: &[DateId]) -> QueryResult<HashMap<DateId, Sent>> {
    let rows: Vec<(super::ids::PacketId, DateId, i64, Option<At>)> = packet::table
        .filter(packet::date_id.eq_any(dates.to_vec()))
        .filter(packet::sent_at.is_not_null())
        .order((packet::date_id, packet::number))
        .select((packet::id, packet::date_id, packet::number, packet::sent_at))
        .load(c)?;
    let last: BTreeMap<DateId, _> = rows.into_iter().map(|row| (row.1, row)).collect();
    let ids: Vec<_> = last.values().map(|row| row.0).collect();
    let inside: Vec<(super::ids::PacketId, ReservationId, i64)> = packet_sheet::table
        .filter(packet_sheet::packet_id.eq_any(ids))
        .select((packet_sheet::packet_id, packet_sheet::reservation_id, packet_sheet::revision))
        .load(c)?;
    Ok(last
        .into_iter()
        .filter_map(|(date, (id, _, number, at))| {
            let revisions = inside.iter().filter(|i| i.0 == id).map(|i| (i.1, i.2)).collect();
            Some((date, Sent { number, at: at?, revisions }))
        })
        .collect())
}

/// Dates that come, with how their cut sheets stand.
#[derive(Debug, Clone)]
pub struct Ahead {
    /// The date.
    pub date: ProcessingDate,
    /// The plant.
    pub plant: Processor,
    /// The shares on it.
    pub shares: Vec<Due>,
    /// The sides that two quarters share.
    pub sides: Vec<SharedSide>,
    /// The last packet that was sent.
    pub sent: Option<Sent>,
}

impl Ahead {
    /// The shares whose sheet is missing.
    pub fn missing(&self) -> impl Iterator<Item = &Due> {
        self.shares.iter().filter(|s| s.is_missing())
    }
    /// How many sides were decided since the packet that was sent.
    pub fn decided(&self) -> usize {
        let Some(sent) = &self.sent else { return 0 };
        self.sides.iter().filter(|s| s.decisions.iter().any(|d| s.holds(d) && d.decided_at > sent.at)).count()
    }
    /// How many sheets are new, changed or gone since the packet that was sent.
    pub fn changed(&self) -> usize {
        let Some(sent) = &self.sent else { return 0 };
        let now: HashMap<_, _> =
            self.shares.iter().filter_map(|s| Some((s.reservation, s.sheet.as_ref()?.revision))).collect();
        let differs = now.iter().filter(|(id, revision)| sent.revisions.get(id) != Some(revision)).count();
        differs + sent.revisions.keys().filter(|id| !now.contains_key(id)).count()
    }
}

/// The dates after today that have shares, soonest first.
///
/// # Errors
/// The database's own.
pub fn ahead(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<Ahead>> {
    let mut coming = dates::coming(c, today)?;
    coming.retain(|(d, _)| d.kill_on > today);
    let ids: Vec<_> = coming.iter().map(|(d, _)| d.id).collect();
    let (shares, mut sent) = (on_dates(c, &ids)?, sent(c, &ids)?);
    let sides = sides::on_dates(c, &ids)?;
    Ok(coming
        .into_iter()
        .map(|(date, plant)| {
            let own = shares.iter().filter(|s| s.date == date.id).cloned().collect();
            let sides = sides.iter().filter(|s| s.date == date.id).cloned().collect();
            Ahead { shares: own, sides, sent: sent.remove(&date.id), date, plant }
        })
        .filter(|a| !a.shares.is_empty())
        .collect())
}

/// Who was reminded for these dates.
///
/// # Errors
/// The database's own.
pub fn reminders(c: &mut DbConn, dates: &[DateId]) -> QueryResult<Vec<SheetReminder>> {
    sheet_reminder::table
        .filter(sheet_reminder::date_id.eq_any(dates.to_vec()))
        .order((sheet_reminder::made_at, sheet_reminder::days))
        .select(SheetReminder::as_select())
        .load(c)
}

/// Notes a reminder, or which message it was when it stands there already.
///
/// # Errors
/// The database's own.
pub fn note_reminder(tx: &mut Tx, new: &SheetReminder) -> QueryResult<()> {
    let known = sheet_reminder::table.find((new.reservation_id, new.date_id, new.days));
    let again = (sheet_reminder::made_at.eq(new.made_at), sheet_reminder::message_id.eq(new.message_id));
    if diesel::update(known).set(again).execute(tx.conn())? == 0 {
        diesel::insert_into(sheet_reminder::table).values(new.clone()).execute(tx.conn())?;
    }
    Ok(())
}

/// A wish that waits for the farmer, with whose it is.
pub type Asked = (SheetRequest, String);

/// The requests that wait, the oldest first, with the customer's name; at most 200.
///
/// # Errors
/// The database's own.
pub fn open_requests(c: &mut DbConn) -> QueryResult<Vec<Asked>> {
    sheet_request::table
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(sheet_request::decided_at.is_null())
        .filter(reservation::cancelled_at.is_null())
        .order(sheet_request::id)
        .limit(200)
        .select((SheetRequest::as_select(), customer::name))
        .load(c)
}

/// One request.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn request(c: &mut DbConn, id: SheetRequestId) -> QueryResult<SheetRequest> {
    sheet_request::table.find(id).select(SheetRequest::as_select()).first(c)
}

/// What an order's customer asked for, the latest first.
///
/// # Errors
/// The database's own.
pub fn requests_of(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<SheetRequest>> {
    sheet_request::table
        .filter(sheet_request::reservation_id.eq(order))
        .order(sheet_request::id.desc())
        .limit(20)
        .select(SheetRequest::as_select())
        .load(c)
}

/// Writes what a customer asks for; an open request of the order is replaced by it.
///
/// # Errors
/// The database's own.
pub fn ask(tx: &mut Tx, new: &NewSheetRequest) -> QueryResult<SheetRequestId> {
    let open = sheet_request::table
        .filter(sheet_request::reservation_id.eq(new.reservation_id))
        .filter(sheet_request::decided_at.is_null());
    diesel::delete(open).execute(tx.conn())?;
    diesel::insert_into(sheet_request::table).values(new.clone()).returning(sheet_request::id).get_result(tx.conn())
}

/// Writes the farmer's decision; `false` when it was decided already.
///
/// # Errors
/// The database's own.
pub fn decide(tx: &mut Tx, id: SheetRequestId, decision: RequestDecision, note: &str, at: At) -> QueryResult<bool> {
    let open = sheet_request::table.filter(sheet_request::id.eq(id)).filter(sheet_request::decided_at.is_null());
    let decided = (
        sheet_request::decided_at.eq(Some(at)),
        sheet_request::decision.eq(Some(decision)),
        sheet_request::note.eq(note.to_string()),
    );
    Ok(diesel::update(open).set(decided).execute(tx.conn())? == 1)
}

/// Marks a packet as sent; `false` when it was already.
///
/// # Errors
/// The database's own.
pub fn mark_packet_sent(tx: &mut Tx, id: super::ids::PacketId, at: At, by: &str) -> QueryResult<bool> {
    let draft = packet::table.filter(packet::id.eq(id)).filter(packet::sent_at.is_null());
    let sent = (packet::sent_at.eq(Some(at)), packet::sent_by.eq(by.to_string()));
    Ok(diesel::update(draft).set(sent).execute(tx.conn())? == 1)
}

/// The last message that carries a packet.
///
/// # Errors
/// The database's own.
pub fn message_with(c: &mut DbConn, id: super::ids::PacketId) -> QueryResult<Option<MessageId>> {
    message::table
        .filter(message::attachment_kind.eq(PaperKind::Packet))
        .filter(message::attachment_id.eq(id.0))
        .order(message::id.desc())
        .select(message::id)
        .first(c)
        .optional()
}
