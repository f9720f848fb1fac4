//! What the frame around a customer's page shows: the farm, the order, and how to reach the farm.

use crate::web::look::parts::tel;
use crate::web::look::{FORM_KEY, Notice, assets};

/// The frame of a customer's page; every template of theirs has it as its field `frame`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CustomerFrame {
    /// The farm's name.
    pub farm: String,
    /// The order's number.
    pub number: String,
    /// One sentence about what was just done.
    pub notice: Option<Notice>,
    /// A fresh one-use form key for the forms of this page.
    pub form_key: String,
    /// Whether this is the demo farm.
    pub demo: bool,
    /// The farm's address on one line.
    pub address: String,
    /// The farm's phone.
    pub phone: String,
}

impl CustomerFrame {
    /// The address of a file of `assets/`.
    pub fn asset(&self, name: &str) -> String {
        assets::asset_url(name)
    }
    /// The name of the hidden field with the form key.
    pub const fn form_key_name(&self) -> &'static str {
        FORM_KEY
    }
    /// What a phone dials.
    pub fn dial(&self) -> String {
        tel(&self.phone)
    }
}
