//! Pages: the farm’s own, the customers’, the processors’, the public ones, signing in, assets, health. Handlers ask who you are, read the form, do one action, answer.

pub mod account;
pub mod app;
pub mod costs;
pub mod customer;
pub mod errors;
pub mod farm;
pub mod farmer;
pub mod figures;
pub mod guard;
pub mod health;
pub mod look;
pub mod notice;
pub mod permission;
pub mod processor;
pub mod public;
pub mod reserve;
pub mod sent;
pub mod server;
pub mod sheet_form;
pub mod sheet_pages;
pub mod tls;
pub mod upload;
