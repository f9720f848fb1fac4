//! Payments, what they are for, and receipts.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AllocationId, CustomerId, InvoiceId, PaymentId, ReceiptId, ReservationId};
use crate::book::schema::{allocation, payment, receipt};
use crate::trade::money::Money;
use crate::trade::vocabulary::{PayMethod, PaymentKind};
use chrono::NaiveDate;
use diesel::prelude::*;

/// Money received from (amount > 0, kind 'received') or given back to (kind 'refund', amount > 0) a customer. Never changed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = payment, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Payment {
    pub id: PaymentId,
    pub customer_id: CustomerId,
    pub kind: PaymentKind,
    pub method: PayMethod,
    pub amount: Money,
    pub received_on: NaiveDate,
    pub reference: String,
    pub note: String,
    pub recorded_at: At,
}

/// A new row of `payment`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = payment)]
pub struct NewPayment {
    pub customer_id: CustomerId,
    pub kind: PaymentKind,
    pub method: PayMethod,
    pub amount: Money,
    pub received_on: NaiveDate,
    pub reference: String,
    pub note: String,
    pub recorded_at: At,
}

/// What a payment is for: a deposit on a reservation, or an invoice. Signed and append-only; a move is a minus and a plus. What is not allocated is the customer's credit.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = allocation, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Allocation {
    pub id: AllocationId,
    pub payment_id: PaymentId,
    pub reservation_id: Option<ReservationId>,
    pub invoice_id: Option<InvoiceId>,
    pub amount: Money,
    pub made_at: At,
}

/// A new row of `allocation`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = allocation)]
pub struct NewAllocation {
    pub payment_id: PaymentId,
    pub reservation_id: Option<ReservationId>,
    pub invoice_id: Option<InvoiceId>,
    pub amount: Money,
    pub made_at: At,
}

/// Numbered receipts; document is the paper's content, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = receipt, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Receipt {
    pub id: ReceiptId,
    pub number: String,
    pub payment_id: PaymentId,
    pub made_on: NaiveDate,
    pub document: String,
}

/// A new row of `receipt`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = receipt)]
pub struct NewReceipt {
    pub number: String,
    pub payment_id: PaymentId,
    pub made_on: NaiveDate,
    pub document: String,
}
