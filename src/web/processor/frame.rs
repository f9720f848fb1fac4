//! What the frame around a processor's page shows: the farm, the plant, the day, and how to reach the farm.

use crate::web::look::parts::tel;
use crate::web::look::{FORM_KEY, Notice, assets};

/// The pages of the bar.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Place {
    /// The day's head.
    #[default]
    Head,
    /// Weights.
    Scale,
    /// Cut sheets.
    Sheets,
    /// Boxes.
    Boxes,
    /// Words to the farm.
    Farm,
}

impl Place {
    const ALL: [Self; 5] = [Self::Head, Self::Scale, Self::Sheets, Self::Boxes, Self::Farm];

    /// The word people read.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Head => "Head",
            Self::Scale => "Scale",
            Self::Sheets => "Cut sheets",
            Self::Boxes => "Boxes",
            Self::Farm => "To the farm",
        }
    }
    /// Where it leads.
    pub const fn href(self) -> &'static str {
        match self {
            Self::Head => "/plant",
            Self::Scale => "/plant/scale",
            Self::Sheets => "/plant/sheets",
            Self::Boxes => "/plant/boxes",
            Self::Farm => "/plant/farm",
        }
    }
}

/// The frame of a processor's page; every template of theirs has it as its field `frame`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlantFrame {
    /// The farm's name.
    pub farm: String,
    /// The plant's name.
    pub plant: String,
    /// "Thursday, October 14".
    pub day: String,
    /// Who opened the link.
    pub name: String,
    /// Which page it is.
    pub at: Place,
    /// One sentence about what was just done.
    pub notice: Option<Notice>,
    /// A fresh one-use form key. A page with several forms has one of its own for each.
    pub form_key: String,
    /// Whether this is the demo farm.
    pub demo: bool,
    /// The farm's phone.
    pub phone: String,
}

impl PlantFrame {
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
    /// The pages of the bar.
    pub const fn places(&self) -> [Place; 5] {
        Place::ALL
    }
    /// Whether this page is that one.
    pub fn is_at(&self, place: &Place) -> bool {
        self.at == *place
    }
}
