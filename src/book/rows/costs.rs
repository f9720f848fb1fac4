//! What animals cost.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AnimalId, CostId};
use crate::book::schema::{cost, cost_head};
use crate::trade::costs::{CostKind, SharedBy};
use crate::trade::money::Money;
use chrono::NaiveDate;
use diesel::prelude::*;

/// What an animal or a lot cost.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, AsChangeset)]
#[diesel(table_name = cost, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Cost {
    pub id: CostId,
    pub kind: CostKind,
    pub on_day: NaiveDate,
    pub words: String,
    pub amount: Money,
    pub shared_by: SharedBy,
    pub made_at: At,
    pub taken_back_at: Option<At>,
    pub version: i64,
}

/// A new row of `cost`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = cost)]
pub struct NewCost {
    pub kind: CostKind,
    pub on_day: NaiveDate,
    pub words: String,
    pub amount: Money,
    pub shared_by: SharedBy,
    pub made_at: At,
}

/// A row of `cost_head`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = cost_head)]
pub struct CostHead {
    pub cost_id: CostId,
    pub animal_id: AnimalId,
}
