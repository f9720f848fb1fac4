//! Gambrel: the order book, invoice desk and cut-sheet desk of a small livestock farm.
//!
//! | room | what is in it | may use |
//! |---|---|---|
//! | [`reckon`] | the sums without the service: JSON in, JSON out | trade |
//! | [`trade`] | the rules of the trade: pure functions on plain values | nothing of ours |
//! | [`post`] | outgoing mail: wordings, messages, SMTP | trade |
//! | [`web`] | pages: what people see and type | actions, book, paper, post, trade |

pub mod actions;
#[macro_use]
pub mod book;
pub mod config;
pub mod post;
pub mod reckon;
pub mod secret;
pub mod trade;
pub mod web;
