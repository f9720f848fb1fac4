//! The bill of sale for a share of a live animal: who sells what to whom, at which price, with lines to sign on.

use super::flow::{plain, sized};
use super::page::{Role, Tag};
use super::parts::{self, Fact, Letterhead, Section};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A bill of sale, frozen as it was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BillOfSale {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// The seller.
    pub head: Letterhead,
    /// The order's number, `2027-031`.
    pub number: String,
    /// `October 5, 2027`.
    pub date: String,
    /// Name and address of the buyer, one line each.
    pub to: Vec<String>,
    /// Order and share, after the date.
    pub facts: Vec<Fact>,
    /// The parties, the animal, the price, the farm's words: each under its heading.
    pub sections: Vec<Section>,
    /// Who signs: `Seller, Nettle Bend Farm`.
    pub signs: Vec<String>,
}

impl BillOfSale {
    /// The paper. The same bill always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, "Bill of sale", &self.to, &facts, "Share")?;
        let (left, width) = (flow.left, flow.right - flow.left);
        for (n, section) in self.sections.iter().enumerate() {
            if n > 0 {
                flow.y += 9.0;
            }
            parts::section(&mut flow, section, left, width, "")?;
        }
        // A line to sign and one for the day, for each; together on one page.
        flow.room(f32::from(u8::try_from(self.signs.len()).unwrap_or(4)) * 52.0)?;
        for who in &self.signs {
            flow.y += 38.0;
            let day = left + width * 0.68;
            flow.doc.rule(left, day - 18.0, flow.y, 0.75);
            flow.doc.rule(day, flow.right, flow.y, 0.75);
            flow.y += 2.0;
            let line = flow.y;
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
            flow.text(tag, left, day - 18.0 - left, sized(9.0, plain(who)), "")?;
            let below = flow.y;
            flow.y = line;
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
            flow.text(tag, day, flow.right - day, sized(9.0, plain("Date")), "")?;
            flow.y = below;
        }
        parts::footer(&mut flow, &self.head.farm, &format!("Bill of sale, order {}, {}", self.number, self.date));
        let title = format!("Bill of sale, order {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
