//! Handing meat over: places, windows, what is ready, what was chosen and collected, and storage that was charged.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{
    ChangeId, DateId, MessageId, OrderChargeId, PickupNoteId, PickupPlaceId, PickupWindowId, ReservationId,
};
use crate::book::schema::{
    pickup_choice, pickup_collected, pickup_note, pickup_place, pickup_ready, pickup_reminder, pickup_rule,
    pickup_window, storage_charge,
};
use crate::trade::money::Money;
use crate::trade::pickup::StoragePer;
use chrono::NaiveDate;
use diesel::prelude::*;

/// How the farm hands meat over.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = pickup_rule, treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupRule {
    pub hold_until_paid: bool,
    pub hours_before: i64,
    pub ask_every: i64,
    pub remind_before: bool,
    pub free_days: i64,
    pub storage_per: Option<StoragePer>,
    pub storage_amount: Money,
    pub version: i64,
}

/// Where meat is handed over.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, AsChangeset)]
#[diesel(table_name = pickup_place, treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupPlace {
    pub id: PickupPlaceId,
    pub name: String,
    pub address: String,
    pub words: String,
    pub retired_at: Option<At>,
    pub version: i64,
}

/// A new row of `pickup_place`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = pickup_place)]
pub struct NewPickupPlace {
    pub name: String,
    pub address: String,
    pub words: String,
    pub created_at: At,
}

/// When the meat of a processing date can be collected, and by how many customers.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, AsChangeset)]
#[diesel(table_name = pickup_window, treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupWindow {
    pub id: PickupWindowId,
    pub date_id: DateId,
    pub place_id: PickupPlaceId,
    pub on_day: NaiveDate,
    pub opens: String,
    pub closes: String,
    pub most: i64,
    pub cancelled_at: Option<At>,
    pub version: i64,
}

/// A new row of `pickup_window`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = pickup_window)]
pub struct NewPickupWindow {
    pub date_id: DateId,
    pub place_id: PickupPlaceId,
    pub on_day: NaiveDate,
    pub opens: String,
    pub closes: String,
    pub most: i64,
    pub created_at: At,
}

/// An order whose meat is ready, with the storage rule that was said with it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = pickup_ready)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupReady {
    pub reservation_id: ReservationId,
    pub ready_on: NaiveDate,
    pub boxes: Option<i64>,
    pub free_days: i64,
    pub storage_per: Option<StoragePer>,
    pub storage_amount: Money,
    pub message_id: Option<MessageId>,
    pub said_at: At,
}

/// The window an order was given.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = pickup_choice, primary_key(reservation_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupChoice {
    pub reservation_id: ReservationId,
    pub window_id: Option<PickupWindowId>,
    pub chosen_at: At,
    pub chosen_by: String,
    pub times: i64,
}

/// What a customer wrote because no window fits.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = pickup_note)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupNote {
    pub id: PickupNoteId,
    pub reservation_id: ReservationId,
    pub words: String,
    pub asked_at: At,
    pub answered_at: Option<At>,
}

/// A new row of `pickup_note`: open.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = pickup_note)]
pub struct NewPickupNote {
    pub reservation_id: ReservationId,
    pub words: String,
    pub asked_at: At,
}

/// A reminder Gambrel wrote by itself.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = pickup_reminder)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupReminder {
    pub reservation_id: ReservationId,
    pub kind: String,
    pub for_day: NaiveDate,
    pub message_id: MessageId,
    pub made_at: At,
}

/// Who collected an order's meat.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = pickup_collected)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PickupCollected {
    pub reservation_id: ReservationId,
    pub by_name: String,
    pub noted_by: String,
    pub noted_at: At,
}

/// Storage the farmer charged: a new row of `storage_charge`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = storage_charge)]
pub struct NewStorageCharge {
    pub reservation_id: ReservationId,
    pub through_day: NaiveDate,
    pub amount: Money,
    pub order_charge_id: Option<OrderChargeId>,
    pub change_id: Option<ChangeId>,
    pub made_at: At,
}
