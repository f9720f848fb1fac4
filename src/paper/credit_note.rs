//! The credit note: takes back an issued invoice, in whole or in part.

use super::flow::{RowStyle, bold, sized};
use super::parts::{self, Fact, Letterhead, Line, Sum};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// An issued credit note, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CreditNote {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was issued, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// `C-2027-003`.
    pub number: String,
    /// `October 7, 2027`.
    pub date: String,
    /// Name and address of the customer, one line each.
    pub to: Vec<String>,
    /// The invoice it takes back and its date, the order.
    pub facts: Vec<Fact>,
    /// Why, in words, one string per paragraph; above the lines.
    pub reason: Vec<String>,
    /// What is taken back.
    pub lines: Vec<Line>,
    /// The sum of the lines, where tax is added to it; left out otherwise.
    pub subtotal: Option<Sum>,
    /// Tax taken back, if any.
    pub taxes: Vec<Line>,
    /// `Credit`.
    pub total: Sum,
    /// What happens now: a new invoice, a refund. One string per paragraph.
    pub notes: Vec<String>,
}

impl CreditNote {
    /// The paper. The same credit note always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, &format!("Credit note {}", self.number), &self.to, &facts, "")?;
        if !self.reason.is_empty() {
            parts::paragraphs(&mut flow, &self.reason, 10.5, 4.0)?;
            flow.y += 12.0;
        }
        let all: Vec<&Line> = self.lines.iter().chain(&self.taxes).collect();
        let columns = parts::bill_columns(&mut flow, &all);
        let table = parts::bill(&mut flow, &columns, &self.lines)?;
        for line in &self.lines {
            parts::bill_line(&mut flow, table, &columns, line)?;
        }
        if let Some(sum) = &self.subtotal {
            parts::bill_sum(&mut flow, table, RowStyle::SUM, bold(&sum.name), &sum.amount.shown())?;
        }
        for line in &self.taxes {
            parts::bill_line(&mut flow, table, &columns, line)?;
        }
        let (total, amount) = (sized(14.0, bold(&self.total.name)), self.total.amount.dollars());
        parts::bill_sum(&mut flow, table, RowStyle::TOTAL, total, &amount)?;
        flow.y += 18.0;
        parts::paragraphs(&mut flow, &self.notes, 10.0, 6.0)?;
        parts::footer(&mut flow, &self.head.farm, &format!("Credit note {}, {}", self.number, self.date));
        let title = format!("Credit note {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
