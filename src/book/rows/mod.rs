//! The rows of the book: one struct per table to read, and one (`New…`) to write where rows are inserted.

pub mod accounts;
pub mod animals;
pub mod balances;
pub mod bank;
pub mod bills_of_sale;
pub mod calendars;
pub mod costs;
pub mod farm;
pub mod imports;
pub mod invoices;
pub mod ledger;
pub mod links;
pub mod money;
pub mod outbox;
pub mod packaged;
pub mod people;
pub mod pickups;
pub mod plan;
pub mod plant_page;
pub mod plants;
pub mod public;
pub mod requests;
pub mod selling;
pub mod sheets;
pub mod stories;
pub mod waiting;
