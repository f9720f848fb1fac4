//! The receipt: money received, from whom, how, and for what.

use super::flow::{RowStyle, bold, sized};
use super::parts::{self, Fact, Letterhead, Line, Sum};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// An issued receipt, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Receipt {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was issued, in seconds since 1970 UTC.
    pub made: i64,
    /// Who received the money.
    pub head: Letterhead,
    /// `R-2027-014`.
    pub number: String,
    /// The day of the receipt, `March 12, 2027`.
    pub date: String,
    /// Who paid, name and address, one line each.
    pub from: Vec<String>,
    /// How it was paid and what it is about: check 1182, received on, order.
    pub facts: Vec<Fact>,
    /// What the money is for; the amounts add up to the total.
    pub lines: Vec<Line>,
    /// `Received`.
    pub total: Sum,
    /// What is left, what was agreed, deposit policy: one string per paragraph.
    pub notes: Vec<String>,
}

impl Receipt {
    /// The paper. The same receipt always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, &format!("Receipt {}", self.number), &self.from, &facts, "")?;
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
        parts::footer(&mut flow, &self.head.farm, &format!("Receipt {}, {}", self.number, self.date));
        let title = format!("Receipt {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
