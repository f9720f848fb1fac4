//! Messages on their way, and their wordings.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{CustomerId, MessageId, ReservationId};
use crate::book::schema::{message, message_template};
use crate::trade::vocabulary::{Channel, PaperKind};
use diesel::prelude::*;

/// The outbox. channel 'mail', 'text' or 'letter'. attachment: kind and id of the paper ('invoice', 'receipt', 'credit_note', 'packet'), made again when sent. What became of it is told by the *_at columns.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = message, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Message {
    pub id: MessageId,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub purpose: String,
    pub channel: Channel,
    pub to_name: String,
    pub to_address: String,
    pub subject: String,
    pub body: String,
    pub attachment_kind: Option<PaperKind>,
    pub attachment_id: Option<i64>,
    pub message_id: String,
    pub queued_at: At,
    pub next_try_at: Option<At>,
    pub tries: i64,
    pub last_error: Option<String>,
    pub sent_at: Option<At>,
    pub failed_at: Option<At>,
    pub handed_over_at: Option<At>,
    pub version: i64,
}

/// A new row of `message`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = message)]
pub struct NewMessage {
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub purpose: String,
    pub channel: Channel,
    pub to_name: String,
    pub to_address: String,
    pub subject: String,
    pub body: String,
    pub attachment_kind: Option<PaperKind>,
    pub attachment_id: Option<i64>,
    pub message_id: String,
    pub queued_at: At,
    pub next_try_at: Option<At>,
    pub tries: i64,
    pub last_error: Option<String>,
    pub sent_at: Option<At>,
    pub failed_at: Option<At>,
    pub handed_over_at: Option<At>,
}

/// Message wordings the farmer changed; a missing row means the default.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = message_template, primary_key(purpose), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct MessageTemplate {
    pub purpose: String,
    pub subject: String,
    pub body: String,
    pub short: String,
    pub version: i64,
}
