//! Bills of sale.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::{AnimalId, BillOfSaleId, CustomerId, ReservationId};
use crate::book::schema::{bill_of_sale, bill_of_sale_text};
use chrono::NaiveDate;
use diesel::prelude::*;

/// A bill of sale as it was made.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable)]
#[diesel(table_name = bill_of_sale, primary_key(id))]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct BillOfSale {
    pub id: BillOfSaleId,
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub animal_id: AnimalId,
    pub made_on: NaiveDate,
    pub kill_on: Option<NaiveDate>,
    pub document: String,
    pub made_at: At,
}

/// A new row of `bill_of_sale`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = bill_of_sale)]
pub struct NewBillOfSale {
    pub reservation_id: ReservationId,
    pub customer_id: CustomerId,
    pub animal_id: AnimalId,
    pub made_on: NaiveDate,
    pub kill_on: Option<NaiveDate>,
    pub document: String,
    pub made_at: At,
}

/// A row of `bill_of_sale_text`: there is one at most.
#[derive(Debug, Clone, Insertable, AsChangeset)]
#[diesel(table_name = bill_of_sale_text)]
pub struct BillOfSaleText {
    pub body: String,
    pub version: i64,
}
