//! What a processor does, as far as a form asks: the one place that says which choices are shown.

use crate::trade::cuts::catalogue::{Block, Choice};
use crate::trade::cuts::offer::Offer;

/// What is offered on a form: what the processor of the share's date does.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Offered(Offer);

impl Offered {
    /// Everything the catalogue has.
    pub fn everything() -> Self {
        Self::default()
    }
    /// What a processor does; see [`crate::actions::plant_offer::of_order`].
    pub const fn by(offer: Offer) -> Self {
        Self(offer)
    }
    /// Whether a choice of a block is offered.
    pub fn choice(&self, block: &Block, choice: &Choice) -> bool {
        self.0.has_choice(block, choice)
    }
    /// Whether a seasoning of sausage is offered.
    pub fn seasoning(&self, id: &str) -> bool {
        self.0.has_seasoning(id)
    }
    /// Whether a form of sausage is offered.
    pub fn form(&self, id: &str) -> bool {
        self.0.has_form(id)
    }
    /// Whether a part of the animal is saved.
    pub fn part(&self, id: &str) -> bool {
        self.0.has_part(id)
    }
    /// Whether wishes in words are taken.
    pub const fn words(&self) -> bool {
        !self.0.no_wishes
    }
}
