//! Gambrel: the order book, invoice desk and cut-sheet desk of a small livestock farm.
//!
//! | room | what is in it | may use |
//! |---|---|---|
//! | [`reckon`] | the sums without the service: JSON in, JSON out | trade |
//! | [`paper`] | invoices, receipts, credit notes and letters as PDF | `trade` |
//! | [`trade`] | the rules of the trade: pure functions on plain values | nothing of ours |
//! | [`book`] | the stored order book: tables, rows, queries, read and write lanes | `trade` |
//! | [`post`] | outgoing mail: wordings, messages, SMTP | `trade` |
//! | [`actions`] | one file per thing a person does: check, one transaction, done | `book`, `trade`, `paper`, `post` |
//! | [`web`] | pages: what people see and type | `actions`, and all of the above |
//! | [`keep`] | copies of the book: made, verified, let go, restored | `actions`, `book` |
//! | [`demo`] | the invented farm, told through the real actions | `actions` and what lies below |
//!
//! Beside them: [`config`] (the operator's settings), [`clock`] (where "now" comes from), [`secret`] (random tokens and their
//! hashes), [`serve`] (the running service), [`health`] (asks it whether it is well).

pub mod actions;
pub mod book;
pub mod clock;
pub mod config;
pub mod demo;
pub mod health;
pub mod keep;
pub mod paper;
pub mod post;
pub mod reckon;
pub mod secret;
pub mod serve;
pub mod trade;
pub mod web;
