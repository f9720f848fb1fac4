//! The farm's terms, who accepted them, confirmations, and requests of strangers.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{
    ConfirmationId, CustomerId, DateId, MessageId, OfferingId, RequestId, ReservationId, SaleTermsId,
};
use crate::book::schema::{confirmation, request_date, request_link, reserve_request, sale_terms, terms_acceptance};
use crate::trade::money::{Money, Rate};
use crate::trade::requests::RequestEnd;
use crate::trade::sale_terms::AcceptedBy;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::PriceBasis;
use chrono::NaiveDate;
use diesel::prelude::*;

/// A version of the farm's terms. An empty body: from then on none are asked for.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = sale_terms, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SaleTerms {
    pub id: SaleTermsId,
    pub number: i64,
    pub body: String,
    pub made_on: NaiveDate,
    pub made_at: At,
    pub made_by: String,
}

/// A new row of `sale_terms`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = sale_terms)]
pub struct NewSaleTerms {
    pub number: i64,
    pub body: String,
    pub made_on: NaiveDate,
    pub made_at: At,
    pub made_by: String,
}

/// Which version the customer of an order accepted.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = terms_acceptance, primary_key(reservation_id, customer_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct TermsAcceptance {
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub terms_id: SaleTermsId,
    pub way: AcceptedBy,
    pub accepted_on: NaiveDate,
    pub noted_by: String,
    pub noted_at: At,
}

/// A confirmation of a reservation as it went out.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = confirmation, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Confirmation {
    pub id: ConfirmationId,
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub made_on: NaiveDate,
    pub deposit_due_on: Option<NaiveDate>,
    pub document: String,
}

/// A new row of `confirmation`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = confirmation)]
pub struct NewConfirmation {
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub made_on: NaiveDate,
    pub deposit_due_on: Option<NaiveDate>,
    pub document: String,
}

/// A stranger's request to reserve a share, with the price the page showed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = reserve_request, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct ReserveRequest {
    pub id: RequestId,
    pub offering_id: OfferingId,
    pub size: Size,
    pub part: Option<Part>,
    pub name: String,
    pub mail: String,
    pub phone: String,
    pub address: String,
    pub only_these: bool,
    pub together: String,
    pub note: String,
    pub price_basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit: Money,
    pub terms_id: Option<SaleTermsId>,
    pub message_id: Option<MessageId>,
    pub asked_at: At,
    pub confirm_by: At,
    pub confirmed_at: Option<At>,
    pub outcome: Option<RequestEnd>,
    pub answered_at: Option<At>,
    pub answered_by: String,
    pub answer: String,
    pub reservation_id: Option<ReservationId>,
}

/// A new row of `reserve_request`: not confirmed.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = reserve_request)]
pub struct NewReserveRequest {
    pub offering_id: OfferingId,
    pub size: Size,
    pub part: Option<Part>,
    pub name: String,
    pub mail: String,
    pub phone: String,
    pub address: String,
    pub only_these: bool,
    pub together: String,
    pub note: String,
    pub price_basis: PriceBasis,
    pub rate: Option<Rate>,
    pub flat_price: Option<Money>,
    pub deposit: Money,
    pub terms_id: Option<SaleTermsId>,
    pub message_id: Option<MessageId>,
    pub asked_at: At,
    pub confirm_by: At,
}

/// A date that a request would like.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = request_date, primary_key(request_id, place))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct RequestDate {
    pub request_id: RequestId,
    pub place: i64,
    pub date_id: DateId,
}

/// A new row of `request_link`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = request_link)]
pub struct NewRequestLink {
    pub token_hash: String,
    pub request_id: RequestId,
    pub made_at: At,
}
