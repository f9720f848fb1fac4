//! The invoice: every line with the sum behind it, the balance due, and apart from it what goes to the processor.

use super::face::Face;
use super::flow::{Column, Flow, RowStyle, bold, plain, sized};
use super::page::{Align, Role, Tag};
use super::parts::{self, Fact, Letterhead, Line, Section, Sum};
use super::{PaperError, Sealed, seal};
use crate::trade::money::Money;
use serde::{Deserialize, Serialize};

/// An issued invoice, frozen: everything is worded, and the PDF can be made again from this alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Invoice {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was issued, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// `2027-041`.
    pub number: String,
    /// `October 5, 2027`.
    pub date: String,
    /// `October 14, 2027`.
    pub due: String,
    /// Name and address of the customer, one line each.
    pub to: Vec<String>,
    /// What it is about, after date and due date: order, animal, when slaughtered.
    pub facts: Vec<Fact>,
    /// What the farm bills, before tax.
    pub lines: Vec<Line>,
    /// The sum of the lines: `Farm total`.
    pub total: Sum,
    /// Tax, if any, one line per rate.
    pub taxes: Vec<Line>,
    /// Deposit and payments taken off; the amounts are negative.
    pub less: Vec<Line>,
    /// `Balance due`, or what the customer is owed.
    pub balance: Sum,
    /// How to pay. The invoice number stands out in it.
    pub pay: Section,
    /// What the customer pays the processor, if anything.
    pub processor: Option<Processor>,
    /// What everything comes to, written out; empty for none.
    pub all_in: String,
}

/// What goes to the processor and is no part of the invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Processor {
    /// `What you pay Pell Road Meats`.
    pub heading: String,
    /// `Not part of this invoice. Paid to them when you collect.`; says so where it is an estimate.
    pub note: String,
    /// Each charge with the sum behind it.
    pub lines: Vec<Sum>,
    /// `To Pell Road Meats`.
    pub total: Sum,
}

impl Invoice {
    /// The paper. The same invoice always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let mut facts = vec![("Date", self.date.as_str())];
        if !self.due.is_empty() {
            facts.push(("Due", &self.due));
        }
        facts.extend(self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())));
        parts::heading(&mut flow, &format!("Invoice {}", self.number), &self.to, &facts, "Due")?;
        self.bill(&mut flow)?;
        flow.y += 20.0;
        self.below(&mut flow)?;
        if !self.all_in.is_empty() {
            flow.y += 9.0;
            parts::paragraphs(&mut flow, std::slice::from_ref(&self.all_in), 9.0, 0.0)?;
        }
        parts::footer(&mut flow, &self.head.farm, &format!("Invoice {}, {}", self.number, self.date));
        let title = format!("Invoice {}, {}", self.number, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }

    fn bill(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let all: Vec<&Line> = self.lines.iter().chain(&self.taxes).chain(&self.less).collect();
        let columns = parts::bill_columns(flow, &all);
        let table = parts::bill(flow, &columns, &self.lines)?;
        for line in &self.lines {
            parts::bill_line(flow, table, &columns, line)?;
        }
        let total = self.total.amount.shown();
        parts::bill_sum(flow, table, RowStyle::SUM, bold(&self.total.name), &total)?;
        let (balance, amount) = (sized(14.0, bold(&self.balance.name)), self.balance.amount.dollars());
        let balance_height = parts::bill_sum_height(flow, RowStyle::TOTAL, balance, &amount);
        let last = self.less.last().or(self.taxes.last());
        for line in self.taxes.iter().chain(&self.less) {
            if last.is_some_and(|l| std::ptr::eq(l, line)) {
                flow.room(balance_height + 30.0)?; // the balance never stands alone on a page
            }
            parts::bill_line(flow, table, &columns, line)?;
        }
        parts::bill_sum(flow, table, RowStyle::TOTAL, balance, &amount)
    }

    /// How to pay at the left, what goes to the processor at the right; below each other where they are long.
    fn below(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let (left, right) = (flow.left, flow.right);
        let half = (right - left - 28.8) / 2.0;
        let Some(processor) = &self.processor else {
            return parts::section(flow, &self.pay, left, right - left, &self.number);
        };
        let tall = parts::section_height(flow, &self.pay, half).max(processor.height(flow, half)) + 4.0;
        flow.room(tall)?;
        if flow.y + tall > flow.bottom() {
            parts::section(flow, &self.pay, left, right - left, &self.number)?;
            flow.y += 16.0;
            return processor.draw(flow, left, right - left);
        }
        let top = flow.y;
        parts::section(flow, &self.pay, left, half, &self.number)?;
        let low = std::mem::replace(&mut flow.y, top);
        processor.draw(flow, right - half, half)?;
        flow.y = flow.y.max(low);
        Ok(())
    }
}

impl Processor {
    fn section(&self) -> Section {
        Section { heading: self.heading.clone(), body: vec![self.note.clone()] }
    }

    fn columns<'t>(&self, flow: &mut Flow, x: f32, width: f32) -> [Column<'t>; 2] {
        let sums = self.lines.iter().chain([&self.total]);
        let money = sums.map(|s| flow.doc.width(Face::Bold, 9.0, &self.money(s.amount))).fold(0.0, f32::max) + 0.5;
        [
            Column { title: "", x, width: width - money - 12.0, align: Align::Left },
            Column { title: "", x: x + width - money, width: money, align: Align::Right },
        ]
    }

    fn money(&self, amount: Money) -> String {
        amount.shown()
    }

    fn height(&self, flow: &mut Flow, width: f32) -> f32 {
        let columns = self.columns(flow, 0.0, width);
        let mut height = parts::section_height(flow, &self.section(), width);
        for sum in self.lines.iter().chain([&self.total]) {
            height += flow.row_height(&columns, RowStyle::BARE, &[&[sized(9.0, bold(&sum.name))]]);
        }
        height
    }

    fn draw(&self, flow: &mut Flow, x: f32, width: f32) -> Result<(), PaperError> {
        parts::section(flow, &self.section(), x, width, "")?;
        let columns = self.columns(flow, x, width);
        let table = flow.doc.tag(Tag::DOCUMENT, Role::Table);
        flow.y += 2.0;
        for sum in &self.lines {
            let amount = self.money(sum.amount);
            let cells = [sized(9.0, plain(&sum.name)), sized(9.0, plain(&amount))];
            flow.row(table, &columns, RowStyle::BARE, &[&cells[..1], &cells[1..]])?;
        }
        let amount = self.money(self.total.amount);
        let cells = [sized(9.0, bold(&self.total.name)), sized(9.0, bold(&amount))];
        flow.row(table, &columns, RowStyle::BARE, &[&cells[..1], &cells[1..]])
    }
}
