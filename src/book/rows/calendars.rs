//! The farm's calendar feed, and calendar files that go with messages.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::MessageId;
use crate::book::schema::{calendar_feed, message_calendar};
use diesel::prelude::*;

/// The secret address of the farm's calendar feed. token_hash is the SHA-256 of the token.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = calendar_feed)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct CalendarFeed {
    pub token_hash: String,
    pub made_at: At,
    pub ended_at: Option<At>,
}

/// A calendar file that goes with a message.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = message_calendar)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct MessageCalendar {
    pub message_id: MessageId,
    pub method: String,
    pub body: String,
}
