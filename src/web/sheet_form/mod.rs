//! What the farmer's and the customer's cut-sheet forms share: fields read into a sheet, a sheet put into fields, what comes home
//! in words, the steps of the customer's form.
//!
//! A block's choice is the field `block-ID`; where its pieces are given out, `second-ID` is the other choice and `pieces-ID` how
//! many pieces it gets. Parameters are `param-ID`, sausages `sausage-N-seasoning`, `-form`, `-weight`. What is left empty takes the
//! standard cut.

pub mod offered;
pub mod read;
pub mod show;
pub mod steps;

/// Rows for sausages.
pub const SAUSAGES: usize = 3;
