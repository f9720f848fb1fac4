//! Private links of customers, the browsers that opened them, and wishes to cancel.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{CancelRequestId, CustomerLinkId, ReservationId};
use crate::book::schema::{cancel_request, customer_link, link_session};
use crate::trade::vocabulary::{CancelAnswer, LinkFor};
use diesel::prelude::*;

/// Private links of customers, each to one order. token_hash is the SHA-256 of the token. made_for: 'mail' or 'shown'.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = customer_link, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct CustomerLink {
    pub id: CustomerLinkId,
    pub reservation_id: ReservationId,
    pub token_hash: String,
    pub made_at: At,
    pub made_for: LinkFor,
    pub last_used_at: Option<At>,
    pub revoked_at: Option<At>,
}

/// A new row of `customer_link`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = customer_link)]
pub struct NewCustomerLink {
    pub reservation_id: ReservationId,
    pub token_hash: String,
    pub made_at: At,
    pub made_for: LinkFor,
}

/// Browsers that opened a private link. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = link_session, primary_key(id_hash))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LinkSession {
    pub id_hash: String,
    pub link_id: CustomerLinkId,
    pub form_secret: String,
    pub made_at: At,
    pub last_seen_at: At,
    pub ends_at: At,
}

/// A customer's wish by private link to cancel the order. deposit_words: what was said beforehand about the deposit.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = cancel_request, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct CancelRequest {
    pub id: CancelRequestId,
    pub reservation_id: ReservationId,
    pub reason: String,
    pub deposit_words: String,
    pub asked_at: At,
    pub answer: Option<CancelAnswer>,
    pub answered_at: Option<At>,
    pub note: String,
}

/// A new row of `cancel_request`: open.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = cancel_request)]
pub struct NewCancelRequest {
    pub reservation_id: ReservationId,
    pub reason: String,
    pub deposit_words: String,
    pub asked_at: At,
}
