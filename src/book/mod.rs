//! The stored order book: tables, rows, queries, read and write lanes. The only room that knows SQL.
//!
//! - [`store::Store`] opens a book from a folder (embedded SQLite) or a `postgres://` URL, migrates it and hands out
//!   [`store::Store::read`] (many at once, read-only) and [`store::Store::write`] (one transaction, one write lane).
//! - One file per group of tables holds its rows and its queries; queries take `&mut DbConn`, so the type system lets only
//!   [`store::Tx`] write: functions that change something take `&mut Tx`.

#[macro_use]
pub mod conn;
pub mod acceptances;
pub mod accounts;
pub mod animals;
pub mod at;
pub mod balances;
pub mod bank;
pub mod bank_open;
pub mod bills_of_sale;
pub mod calendars;
pub mod cancel_requests;
pub mod carcasses;
pub mod check;
pub mod confirmations;
pub mod content;
pub mod costs;
pub mod counters;
pub mod dates;
pub mod exports;
pub mod farm;
pub mod few;
pub mod ids;
pub mod imports;
pub mod invoices;
mod kinds;
pub mod ledger;
pub mod left;
pub mod links;
pub mod migrate;
pub mod money_sums;
pub mod offerings;
pub mod outbox;
pub mod packaged;
pub mod passwords;
pub mod payments;
pub mod people;
pub mod pickup_places;
pub mod pickups;
pub mod place_locks;
pub mod placements;
pub mod planning;
pub mod plant_entries;
pub mod plant_links;
pub mod plant_offers;
pub mod plants;
pub mod public_page;
pub mod refunds;
pub mod report;
pub mod requests;
pub mod reservations;
pub mod rows;
pub mod sale_terms;
pub mod schema;
pub mod search;
pub mod second_factors;
#[cfg(feature = "postgres")]
pub mod server;
pub mod sheet_drafts;
pub mod sheets;
pub mod sheets_due;
pub mod shop;
pub mod sides;
pub mod sign_ins;
pub mod slips;
pub mod snapshot;
pub mod standing;
pub mod store;
pub mod stories;
pub mod today;
pub mod undated;
pub mod unmatched;
pub mod unplaced;
pub mod waiting_offers;
pub mod weight_files;
pub mod whole;
pub mod wishes;
pub mod wordings;
