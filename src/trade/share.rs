//! Species, shares and where on a carcass a share hangs.

crate::words! {
    /// The four species Gambrel is for; all are "amenable" under the federal meat inspection acts (21 U.S.C. 601).
    pub enum Species {
        /// Cattle.
        Beef = "beef", "beef";
        /// Swine.
        Hog = "hog", "hog";
        /// Sheep.
        Lamb = "lamb", "lamb";
        /// Goats.
        Goat = "goat", "goat";
    }
}

crate::words! {
    /// How much of one animal a customer buys.
    pub enum Size {
        /// One animal, both sides.
        Whole = "whole", "whole";
        /// One side.
        Half = "half", "half";
        /// Half of one side.
        Quarter = "quarter", "quarter";
    }
}

crate::words! {
    /// One half of a carcass.
    pub enum Side {
        /// The left side.
        Left = "left", "left";
        /// The right side.
        Right = "right", "right";
    }
}

crate::words! {
    /// What a quarter is half of a side by: an even split of every cut, or the fore or hind quarter.
    pub enum Part {
        /// Split side: half of everything on the side.
        Split = "split", "split side";
        /// The forequarter.
        Fore = "fore", "forequarter";
        /// The hindquarter.
        Hind = "hind", "hindquarter";
    }
}

/// "Half beef", "Forequarter beef": a share as it is sold.
pub fn sold_as(size: Size, part: Option<Part>, species: Species) -> String {
    match (size, part) {
        (Size::Quarter, Some(Part::Fore)) => format!("Forequarter {}", species.label()),
        (Size::Quarter, Some(Part::Hind)) => format!("Hindquarter {}", species.label()),
        _ => size.of(species),
    }
}

impl Size {
    /// How many quarters of one animal the share is: 4, 2 or 1.
    pub const fn quarters(self) -> i64 {
        match self {
            Self::Whole => 4,
            Self::Half => 2,
            Self::Quarter => 1,
        }
    }
    /// The share as a fraction of one head, written for people.
    pub const fn fraction(self) -> &'static str {
        match self {
            Self::Whole => "1",
            Self::Half => "½",
            Self::Quarter => "¼",
        }
    }
    /// "Half beef", "Quarter hog": the share as a customer reads it.
    pub fn of(self, species: Species) -> String {
        let mut name = format!("{} {}", self.label(), species.label());
        if let Some(first) = name.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        name
    }
}
