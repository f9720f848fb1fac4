//! The planner: the best assignment of shares to animals and dates, its proof and its reasons.
//!
//! Pure: no clock and no I/O. How long it may search is a number of steps, so that the same problem has the same answer
//! everywhere.

mod check;
mod closing;
mod cost;
mod crossing;
mod firsts;
mod ground;
mod layers;
mod make;
mod model;
mod outlook;
mod part;
mod pen;
mod prices;
mod problem;
mod room;
mod rough;
mod rules;
mod score;
mod search;
mod solve;
mod table;
mod why;
mod work;

pub use check::{Unfit, check};
pub use make::{Bound, Plan, plan};
pub use problem::{Head, Order, Problem, SheetDifference, Sides, Spot, Standing};
pub use rules::broken;
pub use score::{Criterion, Score, outside, score, share_weight};
pub use why::{PartSold, Reasons, reasons};
