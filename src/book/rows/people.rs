//! Customers.
#![expect(missing_docs, reason = "the columns' meaning is written in the migrations, beside their checks")]

use crate::book::at::At;
use crate::book::ids::CustomerId;
use crate::book::schema::customer;
use diesel::prelude::*;

/// Customers. search is name, mail and phone folded for finding.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Identifiable, Insertable, AsChangeset)]
#[diesel(table_name = customer, primary_key(id), treat_none_as_null = true)]
#[diesel(check_for_backend(diesel::sqlite::Sqlite))]
pub struct Customer {
    pub id: CustomerId,
    pub name: String,
    pub mail: String,
    pub phone: String,
    pub address: String,
    pub notes: String,
    pub search: String,
    pub created_at: At,
    pub version: i64,
    pub no_offers: bool,
}

/// A new row of `customer`.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = customer)]
pub struct NewCustomer {
    pub name: String,
    pub mail: String,
    pub phone: String,
    pub address: String,
    pub notes: String,
    pub search: String,
    pub created_at: At,
    pub no_offers: bool,
}
