//! What happened, in sentences.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AnimalId, CustomerId, DateId, InvoiceId, ReservationId, StoryId};
use crate::book::schema::story;
use diesel::prelude::*;

/// What happened, in sentences, oldest first; append-only. actor is the account's name or 'Gambrel'.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = story, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Story {
    pub id: StoryId,
    pub at: At,
    pub actor: String,
    pub line: String,
    pub detail: String,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub animal_id: Option<AnimalId>,
    pub date_id: Option<DateId>,
    pub invoice_id: Option<InvoiceId>,
}

/// A new row of `story`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = story)]
pub struct NewStory {
    pub at: At,
    pub actor: String,
    pub line: String,
    pub detail: String,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub animal_id: Option<AnimalId>,
    pub date_id: Option<DateId>,
    pub invoice_id: Option<InvoiceId>,
}
