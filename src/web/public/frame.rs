//! What the frame around a public page shows: the farm, and how to reach it.

use crate::book::rows::farm::Farm;
use crate::web::look::assets;
use crate::web::look::parts::tel;

/// The frame of a public page; every template of them has it as its field `frame`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PublicFrame {
    /// The farm's name.
    pub farm: String,
    /// Whether this is the demo farm.
    pub demo: bool,
    /// The farm's address on one line.
    pub address: String,
    /// The farm's phone.
    pub phone: String,
    /// The farm's mail address.
    pub mail: String,
    /// Whether the page is off and only a farmer sees it.
    pub is_preview: bool,
}

impl PublicFrame {
    /// The frame of a farm's page.
    pub fn new(farm: &Farm, is_preview: bool) -> Self {
        Self {
            farm: if farm.name.is_empty() { "Gambrel".into() } else { farm.name.clone() },
            demo: farm.is_demo,
            address: farm.address.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>().join(", "),
            phone: farm.phone.clone(),
            mail: farm.mail.clone(),
            is_preview,
        }
    }
    /// The address of a file of `assets/`.
    pub fn asset(&self, name: &str) -> String {
        assets::asset_url(name)
    }
    /// What a phone dials.
    pub fn dial(&self) -> String {
        tel(&self.phone)
    }
}
