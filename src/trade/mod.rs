//! The rules of the trade: pure functions on plain values.
//!
//! No clock, database, HTTP, randomness or I/O in here; time comes in as an argument. Nothing of the other rooms is used.

pub mod carcass;
pub mod charge;
pub mod decimal;
pub mod invoice;
pub mod money;
pub mod share;
pub mod split;
pub mod vocabulary;
pub mod weight;
pub mod words;
