//! The bank deposit slip: cash counted, each check with its payer, number and amount, and the sum.

use super::flow::{Column, RowStyle, bold, plain, sized};
use super::page::Align;
use super::parts::{self, Letterhead};
use super::{PaperError, Sealed, seal};
use crate::trade::money::Money;
use serde::{Deserialize, Serialize};

/// A deposit slip, frozen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DepositSlip {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// Whose money it is.
    pub head: Letterhead,
    /// The day it goes to the bank: `October 14, 2027`.
    pub date: String,
    /// Notes and coins, counted.
    #[serde(with = "super::cents")]
    pub cash: Money,
    /// The checks in order.
    pub checks: Vec<Check>,
    /// Cash and checks together.
    #[serde(with = "super::cents")]
    pub total: Money,
    /// What has to be said about it: one string per paragraph.
    pub notes: Vec<String>,
}

/// A check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Who wrote it.
    pub from: String,
    /// Its number; may be empty.
    pub number: String,
    /// How much.
    #[serde(with = "super::cents")]
    pub amount: Money,
}

impl DepositSlip {
    /// The paper. The same slip always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let to =
            ["Bank: ______________________________".to_string(), "Account: ____________________________".to_string()];
        let count = match self.checks.len() {
            1 => "one".to_string(),
            n => n.to_string(),
        };
        parts::heading(
            &mut flow,
            "Bank deposit",
            &to,
            &[("Date", self.date.as_str()), ("Checks", count.as_str())],
            "",
        )?;
        let left = flow.left;
        let column = |title, from: f32, width: f32, align| Column { title, x: left + from, width, align };
        let columns = [
            column("From", 0.0, 250.0, Align::Left),
            column("Check number", 262.0, 120.0, Align::Left),
            column("Amount, $", 394.0, flow.right - left - 394.0, Align::Right),
        ];
        let table = flow.table(&columns, 24.0)?;
        let mut row = |style, from, number: &str, amount: Money| {
            let amount = amount.shown();
            let cells = [vec![from], vec![sized(10.5, plain(number))], vec![sized(10.5, plain(&amount))]];
            let cells: Vec<&[_]> = cells.iter().map(Vec::as_slice).collect();
            flow.row(table, &columns, style, &cells)
        };
        row(RowStyle::LINE, sized(10.5, plain("Cash, notes and coins")), "", self.cash)?;
        for check in &self.checks {
            row(RowStyle::LINE, sized(10.5, plain(&check.from)), &check.number, check.amount)?;
        }
        row(RowStyle::TOTAL, sized(13.0, bold("Total of the deposit")), "", self.total)?;
        flow.y += 18.0;
        parts::paragraphs(&mut flow, &self.notes, 10.0, 6.0)?;
        let signed = ["Taken to the bank by: ______________________________     Day: ____________________".to_string()];
        parts::paragraphs(&mut flow, &signed, 10.0, 6.0)?;
        parts::footer(&mut flow, &self.head.farm, &format!("Bank deposit, {}", self.date));
        let title = format!("Bank deposit, {}, {}", self.date, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
