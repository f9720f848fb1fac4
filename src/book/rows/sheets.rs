//! Cut sheets and the packets made of them.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AnimalId, DateId, MessageId, PacketId, ReservationId, SheetRequestId};
use crate::book::schema::{cut_sheet, packet, packet_sheet, sheet_draft, sheet_reminder, sheet_request, side_decision};
use crate::trade::agree::Decision;
use crate::trade::share::Side;
use crate::trade::vocabulary::{RequestDecision, SheetOrigin};
use diesel::prelude::*;

/// One share's cutting instructions. sheet: what was chosen, as JSON; special: a wish in words. revision counts changes.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = cut_sheet, primary_key(reservation_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct CutSheet {
    pub reservation_id: ReservationId,
    pub sheet: String,
    pub special: String,
    pub origin: SheetOrigin,
    pub revision: i64,
    pub entered_at: At,
    pub version: i64,
}

/// A cut sheet that its customer has not sent yet. sheet and special as in cut_sheet, even where rules are broken.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = sheet_draft, primary_key(reservation_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SheetDraft {
    pub reservation_id: ReservationId,
    pub sheet: String,
    pub special: String,
    pub step: String,
    pub looked: String,
    pub began_with: i64,
    pub changed_at: At,
    pub version: i64,
}

impl SheetDraft {
    /// Whether a page was saved.
    pub fn has_looked(&self, step: &str) -> bool {
        self.looked.split(',').any(|one| one == step)
    }
}

/// What was made for the processor of a date, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = packet)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Packet {
    pub id: PacketId,
    pub date_id: DateId,
    pub number: i64,
    pub document: String,
    pub made_at: At,
    pub sent_at: Option<At>,
    pub sent_by: String,
}

/// A new row of `packet`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = packet)]
pub struct NewPacket {
    pub date_id: DateId,
    pub number: i64,
    pub document: String,
    pub made_at: At,
}

/// Which revision of whose sheet stands in a packet.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = packet_sheet)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PacketSheet {
    pub packet_id: PacketId,
    pub reservation_id: ReservationId,
    pub revision: i64,
}

/// Who was reminded of a missing cut sheet, for which day before the deadline; once each. message_id: what was written.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = sheet_reminder)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SheetReminder {
    pub reservation_id: ReservationId,
    pub date_id: DateId,
    pub days: i64,
    pub made_at: At,
    pub message_id: Option<MessageId>,
}

/// What a customer wants changed after the sheets of a date were closed. sheet and special as in cut_sheet.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = sheet_request)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SheetRequest {
    pub id: SheetRequestId,
    pub reservation_id: ReservationId,
    pub sheet: String,
    pub special: String,
    pub asked_at: At,
    pub decided_at: Option<At>,
    pub decision: Option<RequestDecision>,
    pub note: String,
}

/// A new row of `sheet_request`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = sheet_request)]
pub struct NewSheetRequest {
    pub reservation_id: ReservationId,
    pub sheet: String,
    pub special: String,
    pub asked_at: At,
}

/// What the farm decided where two quarters of one side wish otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = side_decision, primary_key(animal_id, side, block))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SideDecision {
    pub animal_id: AnimalId,
    pub side: Side,
    pub block: String,
    pub decision: Decision,
    pub first_id: ReservationId,
    pub first_revision: i64,
    pub second_id: ReservationId,
    pub second_revision: i64,
    pub decided_at: At,
    pub decided_by: String,
}
