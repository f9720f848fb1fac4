//! The rules of the trade: pure functions on plain values.
//!
//! No clock, database, HTTP, randomness or I/O in here; time comes in as an argument. Nothing of the other rooms is used.

pub mod age;
pub mod ageing;
pub mod agree;
pub mod all_in;
pub mod animal;
pub mod carcass;
pub mod charge;
pub mod csv;
pub mod cuts;
pub mod dates;
pub mod decimal;
pub mod dressing;
pub mod estimate;
pub mod fold;
pub mod instructions;
pub mod invoice;
pub mod ledger;
pub mod left;
pub mod live_weight;
pub mod money;
pub mod number;
pub mod official_id;
pub mod ownership;
pub mod pickup;
pub mod placing;
pub mod plan;
pub mod plant_entry;
pub mod price;
pub mod private_link;
pub mod ready;
pub mod reference;
pub mod requests;
pub mod room;
pub mod sale_terms;
pub mod share;
pub mod sheet_changes;
pub mod sheet_json;
pub mod sheets_due;
pub mod split;
pub mod terms;
pub mod vocabulary;
pub mod weight;
pub mod withdrawal;
pub mod words;
