//! Money that is not matched to a customer, accounts at a bank, their statements, and deposit slips.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{BankAccountId, BankFileId, BankLineId, BankUploadId, PaymentId, SlipId, UnmatchedId};
use crate::book::schema::{
    bank_account, bank_file, bank_line, bank_tie, bank_upload, deposit_slip, deposit_slip_item, unmatched_money,
};
use crate::trade::bank::{Form, TieKind};
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use chrono::NaiveDate;
use diesel::prelude::*;

/// Money that came in and nobody knows from whom, until it is matched or given back.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = unmatched_money)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Unmatched {
    pub id: UnmatchedId,
    pub method: PayMethod,
    pub amount: Money,
    pub received_on: NaiveDate,
    pub payer: String,
    pub reference: String,
    pub note: String,
    pub recorded_at: At,
    pub payment_id: Option<PaymentId>,
    pub back_method: Option<PayMethod>,
    pub back_on: Option<NaiveDate>,
    pub back_words: String,
}

impl Unmatched {
    /// Whether it is neither matched nor given back.
    pub const fn waits(&self) -> bool {
        self.payment_id.is_none() && self.back_on.is_none()
    }
}

/// A new row of `unmatched_money`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = unmatched_money)]
pub struct NewUnmatched {
    pub method: PayMethod,
    pub amount: Money,
    pub received_on: NaiveDate,
    pub payer: String,
    pub reference: String,
    pub note: String,
    pub recorded_at: At,
}

/// An account at a bank whose statements are read.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = bank_account)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BankAccount {
    pub id: BankAccountId,
    pub name: String,
    pub form: Option<Form>,
    pub known: Option<String>,
    pub matched: String,
    pub made_at: At,
}

/// A new row of `bank_account`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = bank_account)]
pub struct NewBankAccount {
    pub name: String,
    pub known: Option<String>,
    pub made_at: At,
}

/// A table of a bank that waits for its columns to be matched.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = bank_upload)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BankUpload {
    pub id: BankUploadId,
    pub account_id: BankAccountId,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// A new row of `bank_upload`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = bank_upload)]
pub struct NewBankUpload {
    pub account_id: BankAccountId,
    pub name: String,
    pub content: String,
    pub made_at: At,
}

/// A statement that was read.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = bank_file)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BankFile {
    pub id: BankFileId,
    pub account_id: BankAccountId,
    pub name: String,
    pub first_on: NaiveDate,
    pub last_on: NaiveDate,
    pub line_count: i64,
    pub new_count: i64,
    pub taken_by: String,
    pub taken_at: At,
}

/// A new row of `bank_file`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = bank_file)]
pub struct NewBankFile {
    pub account_id: BankAccountId,
    pub name: String,
    pub first_on: NaiveDate,
    pub last_on: NaiveDate,
    pub line_count: i64,
    pub new_count: i64,
    pub taken_by: String,
    pub taken_at: At,
}

/// A line of a statement. Never changed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = bank_line)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BankLine {
    pub id: BankLineId,
    pub account_id: BankAccountId,
    pub file_id: BankFileId,
    pub line_key: String,
    pub day: NaiveDate,
    pub amount: Money,
    pub words: String,
    pub reference: String,
}

/// A new row of `bank_line`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = bank_line)]
pub struct NewBankLine {
    pub account_id: BankAccountId,
    pub file_id: BankFileId,
    pub line_key: String,
    pub day: NaiveDate,
    pub amount: Money,
    pub words: String,
    pub reference: String,
}

/// What a line of a statement is.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = bank_tie, primary_key(line_id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BankTie {
    pub line_id: BankLineId,
    pub kind: TieKind,
    pub payment_id: Option<PaymentId>,
    pub unmatched_id: Option<UnmatchedId>,
    pub slip_id: Option<SlipId>,
    pub words: String,
    pub tied_by: String,
    pub tied_at: At,
}

/// A bank deposit slip.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = deposit_slip)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Slip {
    pub id: SlipId,
    pub made_on: NaiveDate,
    pub cash: Money,
    pub total: Money,
    pub document: String,
    pub made_by: String,
    pub made_at: At,
}

/// A new row of `deposit_slip`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = deposit_slip)]
pub struct NewSlip {
    pub made_on: NaiveDate,
    pub cash: Money,
    pub total: Money,
    pub document: String,
    pub made_by: String,
    pub made_at: At,
}

/// What is on a deposit slip.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable)]
#[diesel(table_name = deposit_slip_item, primary_key(slip_id, position))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct SlipItem {
    pub slip_id: SlipId,
    pub position: i64,
    pub payment_id: Option<PaymentId>,
    pub unmatched_id: Option<UnmatchedId>,
}
