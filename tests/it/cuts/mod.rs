//! Cut sheets: the catalogue, its rules, the forecast, and the published tables.

mod properties;
mod published;
mod questions;
mod reckon;
mod rules;
mod wishes;
