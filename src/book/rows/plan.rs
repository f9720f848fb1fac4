//! What orders ask of the planner, which shares are locked, and which plans were taken.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AcceptanceId, AnimalId, DateId, ReservationId};
use crate::book::schema::{later_choice, place_lock, plan_acceptance, plan_move, share_wish};
use crate::trade::plan::Sides;
use crate::trade::weight::Weight;
use diesel::prelude::*;

/// What an order asks of the planner beside its first choice of date. only_these: no other date suits. weights: hanging, of the share.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = share_wish, primary_key(reservation_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ShareWish {
    pub reservation_id: ReservationId,
    pub only_these: bool,
    pub together: String,
    pub weight_low: Option<Weight>,
    pub weight_high: Option<Weight>,
}

/// A second or later choice of date.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = later_choice, primary_key(reservation_id, place))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LaterChoice {
    pub reservation_id: ReservationId,
    pub place: i64,
    pub date_id: DateId,
}

/// A share that stays where it is, whatever is planned.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = place_lock, primary_key(reservation_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlaceLock {
    pub reservation_id: ReservationId,
    pub animal_id: AnimalId,
    pub locked_at: At,
}

/// A plan that was taken, whole or in part; undoes: the acceptance that this one took back.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = plan_acceptance, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlanAcceptance {
    pub id: AcceptanceId,
    pub accepted_at: At,
    pub accepted_by: String,
    pub undoes: Option<AcceptanceId>,
}

/// A new row of `plan_acceptance`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = plan_acceptance)]
pub struct NewPlanAcceptance {
    pub accepted_at: At,
    pub accepted_by: String,
    pub undoes: Option<AcceptanceId>,
}

/// What moved by an acceptance, and the date its animal had then.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = plan_move, primary_key(acceptance_id, reservation_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PlanMove {
    pub acceptance_id: AcceptanceId,
    pub reservation_id: ReservationId,
    pub from_animal_id: Option<AnimalId>,
    pub from_sides: Option<Sides>,
    pub from_date_id: Option<DateId>,
    pub to_animal_id: Option<AnimalId>,
    pub to_sides: Option<Sides>,
    pub to_date_id: Option<DateId>,
    pub told_at: Option<At>,
}
