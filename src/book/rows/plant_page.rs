//! Private links of processors, the browsers that opened them, and what processors entered.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{
    AnimalId, DateId, PacketId, PlantEntryId, PlantLinkId, ProcessorId, ReservationId, WeightFileId,
};
use crate::book::schema::{
    packet_receipt, plant_entry, plant_link, plant_session, processor_columns, weight_file, weight_file_taken,
};
use crate::trade::vocabulary::{EntryAnswer, EntryKind, LinkFor};
use diesel::prelude::*;

/// Private links of processors, each to one processing date.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = plant_link, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlantLink {
    pub id: PlantLinkId,
    pub date_id: DateId,
    pub token_hash: String,
    pub made_at: At,
    pub made_for: LinkFor,
    pub last_used_at: Option<At>,
    pub revoked_at: Option<At>,
}

/// A new row of `plant_link`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = plant_link)]
pub struct NewPlantLink {
    pub date_id: DateId,
    pub token_hash: String,
    pub made_at: At,
    pub made_for: LinkFor,
}

/// Browsers at the plant that opened a private link. name: who opened it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = plant_session, primary_key(id_hash))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlantSession {
    pub id_hash: String,
    pub link_id: PlantLinkId,
    pub name: String,
    pub form_secret: String,
    pub made_at: At,
    pub last_seen_at: At,
    pub ends_at: At,
}

/// The plant has a packet.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = packet_receipt, primary_key(packet_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PacketReceipt {
    pub packet_id: PacketId,
    pub received_by: String,
    pub received_at: At,
}

/// What a processor entered, one revision of it. document: `trade::plant_entry::Entered` as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = plant_entry, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlantEntry {
    pub id: PlantEntryId,
    pub date_id: DateId,
    pub kind: EntryKind,
    pub animal_id: Option<AnimalId>,
    pub reservation_id: Option<ReservationId>,
    pub revision: i64,
    pub document: String,
    pub entered_by: String,
    pub entered_at: At,
    pub told_at: Option<At>,
    pub answer: Option<EntryAnswer>,
    pub answered_by: String,
    pub answered_at: Option<At>,
    pub words: String,
}

/// A new row of `plant_entry`: it waits.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = plant_entry)]
pub struct NewPlantEntry {
    pub date_id: DateId,
    pub kind: EntryKind,
    pub animal_id: Option<AnimalId>,
    pub reservation_id: Option<ReservationId>,
    pub revision: i64,
    pub document: String,
    pub entered_by: String,
    pub entered_at: At,
}

/// A file of weights on its way into the book.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = weight_file, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct WeightFile {
    pub id: WeightFileId,
    pub date_id: DateId,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// A new row of `weight_file`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = weight_file)]
pub struct NewWeightFile {
    pub date_id: DateId,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// A file of weights that was taken into the book.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = weight_file_taken, primary_key(date_id, digest))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct WeightFileTaken {
    pub date_id: DateId,
    pub digest: String,
    pub name: String,
    pub head: i64,
    pub taken_by: String,
    pub taken_at: At,
}

/// Which heading of a processor's files means what.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = processor_columns, primary_key(processor_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ProcessorColumns {
    pub processor_id: ProcessorId,
    pub document: String,
    pub changed_at: At,
}
