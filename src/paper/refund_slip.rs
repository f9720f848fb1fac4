//! The refund slip: money given back, to whom, how, and what for; a line to sign for it.

use super::flow::{RowStyle, bold, sized};
use super::parts::{self, Fact, Letterhead, Line, Sum};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// An issued refund slip, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RefundSlip {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was issued, in seconds since 1970 UTC.
    pub made: i64,
    /// Who gave the money back.
    pub head: Letterhead,
    /// `RF-2027-002`.
    pub number: String,
    /// The day of the slip, `March 12, 2027`.
    pub date: String,
    /// Who got it, name and address, one line each.
    pub to: Vec<String>,
    /// How it was given back, and when.
    pub facts: Vec<Fact>,
    /// What the money was for; the amounts add up to the total.
    pub lines: Vec<Line>,
    /// `Given back`.
    pub total: Sum,
    /// What is left, what was agreed: one string per paragraph.
    pub notes: Vec<String>,
}

impl RefundSlip {
    /// The paper. The same slip always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, &format!("Refund slip {}", self.number), &self.to, &facts, "")?;
        let lines: Vec<&Line> = self.lines.iter().collect();
        let columns = parts::bill_columns(&mut flow, &lines);
        let table = parts::bill(&mut flow, &columns, &self.lines)?;
        for line in &self.lines {
            parts::bill_line(&mut flow, table, &columns, line)?;
        }
        let (total, amount) = (sized(14.0, bold(&self.total.name)), self.total.amount.dollars());
        parts::bill_sum(&mut flow, table, RowStyle::TOTAL, total, &amount)?;
        flow.y += 18.0;
        parts::paragraphs(&mut flow, &self.notes, 10.0, 6.0)?;
        parts::footer(&mut flow, &self.head.farm, &format!("Refund slip {}, {}", self.number, self.date));
        let title = format!("Refund slip {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
