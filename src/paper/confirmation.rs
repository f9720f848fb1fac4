//! The confirmation of a reservation: what is set aside at which price, the deposit and its reference, and the terms as accepted.

use super::parts::{self, Fact, Letterhead, Section};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A confirmation, frozen as it went out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Confirmation {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// The order's number, `2027-031`.
    pub number: String,
    /// `October 14, 2027`.
    pub date: String,
    /// Name and address of the customer, one line each.
    pub to: Vec<String>,
    /// Share, season and payment reference, after the date.
    pub facts: Vec<Fact>,
    /// What is set aside and at which price: one string per paragraph.
    pub says: Vec<String>,
    /// The deposit: how much, by when, how to pay.
    pub deposit: Section,
    /// The payment reference, set in bold in the deposit's words.
    pub reference: String,
    /// What an owner at a custom-exempt plant has to know, if it may go to one.
    pub ownership: Option<Section>,
    /// The farm's terms, word for word, with how and when they were accepted; none where the farm has none.
    pub terms: Option<Section>,
}

impl Confirmation {
    /// The paper. The same confirmation always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, &format!("Reservation {}", self.number), &self.to, &facts, "Reference")?;
        parts::paragraphs(&mut flow, &self.says, 10.5, 6.0)?;
        let (left, width) = (flow.left, flow.right - flow.left);
        flow.y += 8.0;
        parts::section(&mut flow, &self.deposit, left, width, &self.reference)?;
        for section in self.ownership.iter().chain(&self.terms) {
            flow.y += 14.0;
            parts::section(&mut flow, section, left, width, "")?;
        }
        parts::footer(&mut flow, &self.head.farm, &format!("Reservation {}, {}", self.number, self.date));
        let title = format!("Reservation {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
