//! A customer's statement of account for a period: what was billed, what came in, what is left.

use super::flow::{Column, RowStyle, bold, plain, sized};
use super::page::Align;
use super::parts::{self, Fact, Letterhead, Sum};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A statement. It is made when it is asked for, not issued; the ledger is what counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Statement {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// `October 14, 2027`.
    pub date: String,
    /// Name and address of the customer, one line each.
    pub to: Vec<String>,
    /// The period.
    pub facts: Vec<Fact>,
    /// What changed the account, the opening balance first.
    pub rows: Vec<Row>,
    /// `Balance due`, or `In your favor`.
    pub closing: Sum,
    /// What the balance is made up of, how to pay. One string per paragraph.
    pub notes: Vec<String>,
}

/// One change of the account, worded; amounts without the dollar sign.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// `Mar 8`.
    pub day: String,
    /// `Invoice I-2027-041`.
    pub what: String,
    /// Billed, or empty.
    pub billed: String,
    /// Paid or taken off, or empty.
    pub paid: String,
    /// The balance after it.
    pub balance: String,
}

/// Width of a column of money, in points: room for 99,999,999.99.
const MONEY: f32 = 68.0;

impl Statement {
    /// The paper. The same statement always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, "Statement", &self.to, &facts, "")?;
        let right = |n: f32| flow.right - n * MONEY - (n - 1.0) * 10.0;
        let money = |title, n| Column { title, x: right(n), width: MONEY, align: Align::Right };
        let day = Column { title: "Day", x: flow.left, width: 56.0, align: Align::Left };
        let what =
            Column { title: "What", x: flow.left + 66.0, width: right(3.0) - flow.left - 76.0, align: Align::Left };
        let columns = [day, what, money("Billed", 3.0), money("Paid", 2.0), money("Balance", 1.0)];
        let table = flow.table(&columns, 30.0)?;
        for row in &self.rows {
            let cells =
                [&row.day, &row.what, &row.billed, &row.paid, &row.balance].map(|text| [sized(10.0, plain(text))]);
            let cells: Vec<&[_]> = cells.iter().map(|cell| &cell[..]).collect();
            flow.row(table, &columns, RowStyle::LINE, &cells)?;
        }
        let (total, amount) = (sized(14.0, bold(&self.closing.name)), self.closing.amount.dollars());
        parts::bill_sum(&mut flow, table, RowStyle::TOTAL, total, &amount)?;
        flow.y += 18.0;
        parts::paragraphs(&mut flow, &self.notes, 10.0, 6.0)?;
        parts::footer(&mut flow, &self.head.farm, &format!("Statement, {}", self.date));
        let title = format!("Statement, {}", self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
