//! The ledger's entries and lines, payments that belong together, changes of an invoice's balance, refund slips.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{ChangeId, CustomerId, EntryId, InvoiceId, PaymentId, RefundSlipId, ReservationId};
use crate::book::schema::{invoice_change, ledger_entry, ledger_line, payment_pair, refund_slip};
use crate::trade::ledger::{Account, Act, ChangeKind, PairKind};
use crate::trade::money::Money;
use chrono::NaiveDate;
use diesel::prelude::*;

/// What an act did to the accounts; its lines stand in `ledger_line`. Never changed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = ledger_entry)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LedgerEntry {
    pub id: EntryId,
    pub kind: Act,
    pub day: NaiveDate,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub invoice_id: Option<InvoiceId>,
    pub payment_id: Option<PaymentId>,
    pub note: String,
    pub actor: String,
    pub made_at: At,
}

/// A new row of `ledger_entry`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = ledger_entry)]
pub struct NewLedgerEntry {
    pub kind: Act,
    pub day: NaiveDate,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub invoice_id: Option<InvoiceId>,
    pub payment_id: Option<PaymentId>,
    pub note: String,
    pub actor: String,
    pub made_at: At,
}

/// One line of an entry: debit positive, credit negative.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = ledger_line, primary_key(entry_id, position))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct LedgerLine {
    pub entry_id: EntryId,
    pub position: i64,
    pub account: Account,
    pub amount: Money,
    pub customer_id: Option<CustomerId>,
    pub reservation_id: Option<ReservationId>,
    pub invoice_id: Option<InvoiceId>,
}

/// Two payments that belong together.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = payment_pair, primary_key(second_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct PaymentPair {
    pub second_id: PaymentId,
    pub first_id: PaymentId,
    pub kind: PairKind,
}

/// What an issued invoice's balance changed by other than by payment. Never changed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = invoice_change)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct InvoiceChange {
    pub id: ChangeId,
    pub invoice_id: InvoiceId,
    pub kind: ChangeKind,
    pub amount: Money,
    pub tax: Money,
    pub made_on: NaiveDate,
    pub reason: String,
    pub number: Option<String>,
    pub document: Option<String>,
    pub made_at: At,
}

/// A new row of `invoice_change`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = invoice_change)]
pub struct NewInvoiceChange {
    pub invoice_id: InvoiceId,
    pub kind: ChangeKind,
    pub amount: Money,
    pub tax: Money,
    pub made_on: NaiveDate,
    pub reason: String,
    pub number: Option<String>,
    pub document: Option<String>,
    pub made_at: At,
}

/// Numbered slips of money given back; document is the paper's content, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = refund_slip)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct RefundSlip {
    pub id: RefundSlipId,
    pub number: String,
    pub payment_id: PaymentId,
    pub made_on: NaiveDate,
    pub document: String,
}

/// A new row of `refund_slip`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = refund_slip)]
pub struct NewRefundSlip {
    pub number: String,
    pub payment_id: PaymentId,
    pub made_on: NaiveDate,
    pub document: String,
}
