//! Issued invoices and credit notes.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{ChargeId, CreditNoteId, CustomerId, InvoiceId, ReservationId};
use crate::book::schema::{credit_note, invoice, invoice_line};
use crate::trade::money::Money;
use crate::trade::vocabulary::{BilledBy, LineKind};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;

/// Issued invoices: never changed. document is the paper's content, frozen; its PDF can be made again byte for byte. due_on empty = before pickup.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = invoice, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Invoice {
    pub id: InvoiceId,
    pub number: String,
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub issued_on: NaiveDate,
    pub due_on: Option<NaiveDate>,
    pub farm_total: Money,
    pub farm_tax: Money,
    pub processor_total: Money,
    pub processor_tax: Money,
    pub balance_due: Money,
    pub billed_weight: Option<Weight>,
    pub document: String,
    pub issued_at: At,
}

/// A new row of `invoice`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = invoice)]
pub struct NewInvoice {
    pub number: String,
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub issued_on: NaiveDate,
    pub due_on: Option<NaiveDate>,
    pub farm_total: Money,
    pub farm_tax: Money,
    pub processor_total: Money,
    pub processor_tax: Money,
    pub balance_due: Money,
    pub billed_weight: Option<Weight>,
    pub document: String,
    pub issued_at: At,
}

/// The lines of an issued invoice, farm-billed and processor-billed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = invoice_line, primary_key(invoice_id, position), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct InvoiceLine {
    pub invoice_id: InvoiceId,
    pub position: i64,
    pub kind: LineKind,
    pub name: String,
    pub amount: Money,
    pub tax: Money,
    pub billed_by: BilledBy,
    pub charge_id: Option<ChargeId>,
}

/// Credit notes: each voids one invoice in full.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = credit_note, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct CreditNote {
    pub id: CreditNoteId,
    pub number: String,
    pub invoice_id: InvoiceId,
    pub issued_on: NaiveDate,
    pub amount: Money,
    pub reason: String,
    pub document: String,
    pub issued_at: At,
}

/// A new row of `credit_note`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = credit_note)]
pub struct NewCreditNote {
    pub number: String,
    pub invoice_id: InvoiceId,
    pub issued_on: NaiveDate,
    pub amount: Money,
    pub reason: String,
    pub document: String,
    pub issued_at: At,
}
