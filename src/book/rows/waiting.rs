//! Offers to people on the waiting list.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{OfferingId, ReservationId};
use crate::book::schema::waiting_offer;
use chrono::NaiveDate;
use diesel::prelude::*;

/// A new row of `waiting_offer`: open.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = waiting_offer)]
pub struct NewWaitingOffer {
    pub reservation_id: ReservationId,
    pub offering_id: OfferingId,
    pub words: String,
    pub offered_at: At,
    pub answer_by: NaiveDate,
}
