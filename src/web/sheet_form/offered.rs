//! What a processor does, as far as a form asks: the one place that says which choices are shown.

use crate::trade::cuts::catalogue::{Block, Choice};

/// What is offered on a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Offered;

impl Offered {
    /// Everything the catalogue has; no processor's own list is kept yet.
    pub const fn everything() -> Self {
        Self
    }
    /// Whether a choice of a block is offered.
    pub const fn choice(&self, _block: &Block, _choice: &Choice) -> bool {
        true
    }
    /// Whether a seasoning of sausage is offered.
    pub const fn seasoning(&self, _id: &str) -> bool {
        true
    }
    /// Whether a form of sausage is offered.
    pub const fn form(&self, _id: &str) -> bool {
        true
    }
    /// Whether a part of the animal is saved.
    pub const fn part(&self, _id: &str) -> bool {
        true
    }
}
