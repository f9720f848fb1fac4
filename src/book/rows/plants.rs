//! Processors, their charges, and booked dates.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{ChargeId, DateId, ProcessorId};
use crate::book::schema::{date_slot, processing_date, processor, processor_charge, processor_offer};
use crate::trade::cuts::offer::Service;
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{BilledBy, Inspection, Per};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;

/// Plants.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = processor, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Processor {
    pub id: ProcessorId,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub mail: String,
    pub inspection: Inspection,
    pub days_notice: i64,
    pub notes: String,
    pub retired_at: Option<At>,
    pub created_at: At,
    pub version: i64,
}

/// A new row of `processor`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = processor)]
pub struct NewProcessor {
    pub name: String,
    pub address: String,
    pub phone: String,
    pub mail: String,
    pub inspection: Inspection,
    pub days_notice: i64,
    pub notes: String,
    pub retired_at: Option<At>,
    pub created_at: At,
}

/// A plant's schedule of charges. species and size empty = for all. per head and its minima are for a whole head. service: what
/// a charge by product or pack is for.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = processor_charge, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ProcessorCharge {
    pub id: ChargeId,
    pub processor_id: ProcessorId,
    pub name: String,
    pub species: Option<Species>,
    pub size: Option<Size>,
    pub per: Per,
    pub rate: Rate,
    pub minimum_quantity: Option<Weight>,
    pub minimum_amount: Option<Money>,
    pub billed_by: BilledBy,
    pub tax_percent: Percent,
    pub position: i64,
    pub retired_at: Option<At>,
    pub service: Option<Service>,
}

/// A new row of `processor_charge`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = processor_charge)]
pub struct NewProcessorCharge {
    pub processor_id: ProcessorId,
    pub name: String,
    pub species: Option<Species>,
    pub size: Option<Size>,
    pub per: Per,
    pub rate: Rate,
    pub minimum_quantity: Option<Weight>,
    pub minimum_amount: Option<Money>,
    pub billed_by: BilledBy,
    pub tax_percent: Percent,
    pub position: i64,
    pub retired_at: Option<At>,
    pub service: Option<Service>,
}

/// What a plant leaves out of a species' cuts. document: `trade::cuts::offer::Offer` as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = processor_offer, primary_key(processor_id, species), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ProcessorOffer {
    pub processor_id: ProcessorId,
    pub species: Species,
    pub document: String,
    pub changed_at: At,
    pub version: i64,
}

/// Booked days at a plant.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = processing_date, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ProcessingDate {
    pub id: DateId,
    pub processor_id: ProcessorId,
    pub kill_on: NaiveDate,
    pub deliver_on: Option<NaiveDate>,
    pub deliver_time: String,
    pub sheets_due: Option<NaiveDate>,
    pub pickup_from: Option<NaiveDate>,
    pub pickup_to: Option<NaiveDate>,
    pub notes: String,
    pub cancelled_at: Option<At>,
    pub created_at: At,
    pub version: i64,
    pub no_reminders: bool,
    pub sheets_open: bool,
    pub plant_reference: String,
}

/// A new row of `processing_date`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = processing_date)]
pub struct NewProcessingDate {
    pub processor_id: ProcessorId,
    pub kill_on: NaiveDate,
    pub deliver_on: Option<NaiveDate>,
    pub deliver_time: String,
    pub sheets_due: Option<NaiveDate>,
    pub pickup_from: Option<NaiveDate>,
    pub pickup_to: Option<NaiveDate>,
    pub notes: String,
    pub cancelled_at: Option<At>,
    pub created_at: At,
}

/// Head slots booked for a date, by species.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = date_slot, primary_key(date_id, species), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct DateSlot {
    pub date_id: DateId,
    pub species: Species,
    pub head: i64,
}
