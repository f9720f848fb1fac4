//! Overdue balances: the rule, stops, letters, interest.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{BalanceLetterId, ChangeId, CustomerId, InvoiceId, MessageId};
use crate::book::schema::{balance_letter, balance_rule, balance_stop, interest_charge};
use crate::trade::money::Percent;
use crate::trade::overdue::Tone;
use chrono::NaiveDate;
use diesel::prelude::*;

/// When letters go out by themselves, and interest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = balance_rule, treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BalanceRule {
    pub friendly_after: Option<i64>,
    pub firm_after: Option<i64>,
    pub interest: Option<Percent>,
    pub version: i64,
}

/// A customer who gets no reminder by itself.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = balance_stop)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BalanceStop {
    pub customer_id: CustomerId,
    pub reason: String,
    pub stopped_at: At,
}

/// A letter about an overdue balance.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = balance_letter, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BalanceLetter {
    pub id: BalanceLetterId,
    pub invoice_id: InvoiceId,
    pub tone: Tone,
    pub message_id: MessageId,
    pub by_itself: bool,
    pub written_on: NaiveDate,
    pub made_at: At,
}

/// A new row of `balance_letter`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = balance_letter)]
pub struct NewBalanceLetter {
    pub invoice_id: InvoiceId,
    pub tone: Tone,
    pub message_id: MessageId,
    pub by_itself: bool,
    pub written_on: NaiveDate,
    pub made_at: At,
}

/// A new row of `interest_charge`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = interest_charge)]
pub struct NewInterestCharge {
    pub invoice_id: InvoiceId,
    pub months: i64,
    pub through_day: NaiveDate,
    pub change_id: ChangeId,
    pub made_at: At,
}
