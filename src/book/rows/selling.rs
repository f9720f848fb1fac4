//! Offerings, price lists, reservations and their free lines.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{ChargeId, CustomerId, DateId, OfferingId, OrderChargeId, PriceId, ReservationId};
use crate::book::schema::{offering, order_charge, order_product, price, reservation};
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::{DepositFate, PriceBasis, QuarterPart};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;

/// What the farm has for sale. expected_* are hanging weights per head. quarter_part: how quarters of it are divided.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = offering, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Offering {
    pub id: OfferingId,
    pub species: Species,
    pub season: String,
    pub head_count: i64,
    pub sells_whole: bool,
    pub sells_half: bool,
    pub sells_quarter: bool,
    pub quarter_part: QuarterPart,
    pub expected_low: Option<Weight>,
    pub expected_high: Option<Weight>,
    pub notes: String,
    pub closed_at: Option<At>,
    pub created_at: At,
    pub version: i64,
}

/// A new row of `offering`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = offering)]
pub struct NewOffering {
    pub species: Species,
    pub season: String,
    pub head_count: i64,
    pub sells_whole: bool,
    pub sells_half: bool,
    pub sells_quarter: bool,
    pub quarter_part: QuarterPart,
    pub expected_low: Option<Weight>,
    pub expected_high: Option<Weight>,
    pub notes: String,
    pub closed_at: Option<At>,
    pub created_at: At,
}

/// Price list: the row with the latest effective_from not after the day holds; same day: the latest id. Never updated. basis 'flat' uses flat_price, the others rate.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = price, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Price {
    pub id: PriceId,
    pub offering_id: OfferingId,
    pub size: Size,
    pub effective_from: NaiveDate,
    pub basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit: Money,
    pub created_at: At,
}

/// A new row of `price`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = price)]
pub struct NewPrice {
    pub offering_id: OfferingId,
    pub size: Size,
    pub effective_from: NaiveDate,
    pub basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit: Money,
    pub created_at: At,
}

/// One customer's claim on one share. The price fields are locked when it is taken and never change. waiting_since: on the waiting list.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = reservation, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Reservation {
    pub id: ReservationId,
    pub number: String,
    pub customer_id: CustomerId,
    pub offering_id: OfferingId,
    pub size: Size,
    pub part: Option<Part>,
    pub taken_at: At,
    pub price_basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit_asked: Money,
    pub price_locked_on: NaiveDate,
    pub wishes: String,
    pub preferred_date_id: Option<DateId>,
    pub waiting_since: Option<At>,
    pub cancelled_at: Option<At>,
    pub cancel_reason: String,
    pub cancel_deposit: Option<DepositFate>,
    pub collected_at: Option<At>,
    pub version: i64,
}

/// A new row of `reservation`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = reservation)]
pub struct NewReservation {
    pub number: String,
    pub customer_id: CustomerId,
    pub offering_id: OfferingId,
    pub size: Size,
    pub part: Option<Part>,
    pub taken_at: At,
    pub price_basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit_asked: Money,
    pub price_locked_on: NaiveDate,
    pub wishes: String,
    pub preferred_date_id: Option<DateId>,
    pub waiting_since: Option<At>,
    pub cancelled_at: Option<At>,
    pub cancel_reason: String,
    pub cancel_deposit: Option<DepositFate>,
    pub collected_at: Option<At>,
}

/// Free lines of an order: delivery, discount. Taken over into the invoice when it is issued.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = order_charge, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct OrderCharge {
    pub id: OrderChargeId,
    pub reservation_id: ReservationId,
    pub name: String,
    pub amount: Money,
    pub tax_percent: Percent,
    pub created_at: At,
}

/// A new row of `order_charge`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = order_charge)]
pub struct NewOrderCharge {
    pub reservation_id: ReservationId,
    pub name: String,
    pub amount: Money,
    pub tax_percent: Percent,
    pub created_at: At,
}

/// Weight of product made for an order (patties, sausage, smoked), for charges per unit of product.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = order_product, primary_key(reservation_id, charge_id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct OrderProduct {
    pub reservation_id: ReservationId,
    pub charge_id: ChargeId,
    pub quantity: Weight,
}
