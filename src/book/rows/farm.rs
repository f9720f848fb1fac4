//! The farm and its settings.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::schema::farm;
use crate::trade::requests::Requests;
use crate::trade::vocabulary::{PaperSize, Terms};
use crate::trade::weight::Unit;
use diesel::prelude::*;

/// The farm and its settings: one row. Terms: 'days' = due terms_days after issue, 'pickup' = before pickup. split_basis: 'as_hung' or 'even' as in trade::carcass. offer_days: days to answer an offer from the waiting list. open_custom_from: quarters, 1 to 4. deposit_days: days to send a deposit, 1 to 90.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = farm, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Farm {
    pub id: i64,
    pub name: String,
    pub contact_name: String,
    pub address: String,
    pub phone: String,
    pub mail: String,
    pub unit: Unit,
    pub paper: PaperSize,
    pub time_zone: String,
    pub payee: String,
    pub pay_address: String,
    pub pay_words: String,
    pub terms: Terms,
    pub terms_days: i64,
    pub deposit_policy: String,
    pub split_basis: String,
    pub offer_days: i64,
    pub set_up_at: Option<At>,
    pub is_demo: bool,
    pub version: i64,
    pub sheet_reminders: String,
    pub sheets_standard: bool,
    pub open_custom_from: i64,
    pub requests: Requests,
    pub deposit_days: i64,
}
