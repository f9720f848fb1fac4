//! Packaged weights that were told.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{PackagedWeightId, ReservationId};
use crate::book::schema::packaged_weight;
use crate::trade::vocabulary::PackagedBy;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;

/// What a share weighed packaged, one revision of it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = packaged_weight, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PackagedWeight {
    pub id: PackagedWeightId,
    pub reservation_id: ReservationId,
    pub source: PackagedBy,
    pub revision: i64,
    pub weight: Option<Weight>,
    pub on_day: NaiveDate,
    pub told_by: String,
    pub told_at: At,
}

/// A new row of `packaged_weight`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = packaged_weight)]
pub struct NewPackagedWeight {
    pub reservation_id: ReservationId,
    pub source: PackagedBy,
    pub revision: i64,
    pub weight: Option<Weight>,
    pub on_day: NaiveDate,
    pub told_by: String,
    pub told_at: At,
}
