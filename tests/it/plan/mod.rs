//! Tests of the planner.
mod brute;
mod farm;
mod hard;
mod large;
mod made_up;
mod properties;
mod reckon;
mod refused;
mod silly;
mod tiny;
mod words;

pub(crate) use made_up::Dice;
