//! Animals, their weights, treatments, owners and carcasses.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AnimalId, DateId, LiveWeightId, ReservationId, TreatmentId};
use crate::book::schema::{animal, live_weight, lost_share, placement, treatment, weigh_in};
use crate::trade::share::Species;
use crate::trade::vocabulary::{BirthPrecision, CarcassBasis, Condemned, Sex, Slot, WeighMethod};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;

/// One head. birth_precision 'exact', 'month' or 'unknown'. lost_on: died or was taken out before its date.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = animal, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Animal {
    pub id: AnimalId,
    pub tag: String,
    pub species: Species,
    pub class: String,
    pub sex: Sex,
    pub birth_on: Option<NaiveDate>,
    pub birth_precision: BirthPrecision,
    pub breed: String,
    pub official_id: String,
    pub notes: String,
    pub date_id: Option<DateId>,
    pub lost_on: Option<NaiveDate>,
    pub lost_reason: String,
    pub created_at: At,
    pub version: i64,
}

/// A new row of `animal`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = animal)]
pub struct NewAnimal {
    pub tag: String,
    pub species: Species,
    pub class: String,
    pub sex: Sex,
    pub birth_on: Option<NaiveDate>,
    pub birth_precision: BirthPrecision,
    pub breed: String,
    pub official_id: String,
    pub notes: String,
    pub date_id: Option<DateId>,
    pub lost_on: Option<NaiveDate>,
    pub lost_reason: String,
    pub created_at: At,
}

/// Live weights. girth and length in hundredths of an inch (farm in lb) or centimetre (farm in kg).
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = live_weight, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LiveWeight {
    pub id: LiveWeightId,
    pub animal_id: AnimalId,
    pub weighed_on: NaiveDate,
    pub weight: Weight,
    pub method: WeighMethod,
    pub girth: Option<i64>,
    pub length: Option<i64>,
    pub created_at: At,
}

/// A new row of `live_weight`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = live_weight)]
pub struct NewLiveWeight {
    pub animal_id: AnimalId,
    pub weighed_on: NaiveDate,
    pub weight: Weight,
    pub method: WeighMethod,
    pub girth: Option<i64>,
    pub length: Option<i64>,
    pub created_at: At,
}

/// Drug treatments. last_dose_time 'HH:MM' or empty when not known; counted in whole days of 24 hours from the last dose.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = treatment, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Treatment {
    pub id: TreatmentId,
    pub animal_id: AnimalId,
    pub product: String,
    pub last_dose_on: NaiveDate,
    pub last_dose_time: String,
    pub withdrawal_days: i64,
    pub notes: String,
    pub created_at: At,
}

/// A new row of `treatment`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = treatment)]
pub struct NewTreatment {
    pub animal_id: AnimalId,
    pub product: String,
    pub last_dose_on: NaiveDate,
    pub last_dose_time: String,
    pub withdrawal_days: i64,
    pub notes: String,
    pub created_at: At,
}

/// Which quarters of which animal a reservation has. slot: l1, l2, r1, r2; for fore and hind quarters 1 is fore, 2 is hind.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = placement, primary_key(animal_id, slot), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Placement {
    pub animal_id: AnimalId,
    pub slot: Slot,
    pub reservation_id: ReservationId,
}

/// Whose shares had a place on an animal that was lost or condemned, and whether they were told.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = lost_share, primary_key(animal_id, reservation_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LostShare {
    pub animal_id: AnimalId,
    pub reservation_id: ReservationId,
    pub lost_at: At,
    pub told_at: Option<At>,
}

/// Hanging weights the processor reported. Exactly one way of weighing is filled in; condemned 'whole' has none.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = weigh_in, primary_key(animal_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct WeighIn {
    pub animal_id: AnimalId,
    pub weighed_on: NaiveDate,
    pub basis: CarcassBasis,
    pub head_on: bool,
    pub skin_on: bool,
    pub total: Option<Weight>,
    pub left_side: Option<Weight>,
    pub right_side: Option<Weight>,
    pub left_fore: Option<Weight>,
    pub left_hind: Option<Weight>,
    pub right_fore: Option<Weight>,
    pub right_hind: Option<Weight>,
    pub carcass_number: String,
    pub condemned: Condemned,
    pub condemned_note: String,
    pub doubtful_confirmed: bool,
    pub recorded_at: At,
    pub version: i64,
}
