//! The integration tests, one binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::string_slice,
    reason = "tests stop at what they did not expect; helpers outside #[test] functions are not seen as tests"
)]

mod account;
mod bank;
mod bank_files;
mod barn;
mod barn_book;
mod barn_pages;
mod barn_weigh;
mod bill_of_sale;
mod book_json;
mod books;
mod calendar;
mod costs;
mod crash;
mod customer_pages;
mod cut_sheets;
mod cuts;
mod decimal_check;
mod demo;
mod desk_outbox;
mod desk_today;
mod house_rules;
mod import_list;
mod keep;
#[cfg(feature = "postgres")]
mod keep_postgres;
mod ledger;
mod left;
mod mail_peer;
mod mail_worker;
mod migrations;
mod money;
mod money_acts;
mod money_races;
mod my_cut_sheet;
mod orders;
mod outbox;
mod outbox_book;
mod overdue;
mod own_quarters;
mod own_yields;
mod packet_sent;
mod paper;
mod parity;
mod permission;
mod pickup;
mod plan;
mod plan_book;
mod plan_pages;
mod plant_offer;
mod plant_page;
mod post;
mod private_link;
mod public_page;
mod published;
mod ready;
mod receipt_link;
mod reckon_refusals;
mod reckon_sums;
mod reports;
mod requests;
mod sale_terms;
mod season;
mod security;
mod serving;
mod shared_side;
mod sheet_draft;
mod sheets_due;
mod slips;
mod store;
mod support;
mod unmatched;
mod web_frame;
mod weight_file;
mod whole_book;
mod wishes;
