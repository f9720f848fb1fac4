//! The receipt: money received, from whom, how, and for what.

use super::flow::{Flow, RowStyle, bold, plain, sized};
use super::page::{Role, Tag};
use super::parts::{self, Fact, Letterhead, Line, Sum};
use super::qr::Squares;
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
        self.drawn(None)
    }

    /// The same receipt with the private link of the order below it, as a square for a phone's camera and in words. The link is
    /// no part of what is issued and is stored nowhere, so this paper is made once, for the one who gets it.
    ///
    /// # Errors
    /// [`PaperError`]; also when the link is too long for a square.
    pub fn pdf_with_link(&self, url: &str) -> Result<Vec<u8>, PaperError> {
        self.drawn(Some(url))
    }

    fn drawn(&self, link: Option<&str>) -> Result<Vec<u8>, PaperError> {
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
        if let Some(url) = link {
            own_page(&mut flow, url)?;
        }
        parts::footer(&mut flow, &self.head.farm, &format!("Receipt {}, {}", self.number, self.date));
        let title = format!("Receipt {}, {}", self.number, self.head.farm);
        let about = Sealed { title: &title, farm: &self.head.farm, made: self.made };
        match link {
            None => seal(flow, self, &about),
            Some(url) => seal(flow, &(self, url), &about),
        }
    }
}

/// How wide the square is printed: 35 mm, about 0.8 mm for each of its squares, which phones read from an arm's length.
const SQUARE: f32 = 99.2;

/// The way to the order's page, kept together on one page.
fn own_page(flow: &mut Flow, url: &str) -> Result<(), PaperError> {
    let squares = Squares::of(url)?;
    flow.room(SQUARE + 24.0)?;
    flow.y += 12.0;
    flow.doc.rule(flow.left, flow.right, flow.y, 1.0);
    flow.y += 8.0;
    let (top, page, width) = (flow.y, flow.doc.pages(), flow.right - flow.left - SQUARE - 18.0);
    flow.doc.squares((flow.right - SQUARE, top), SQUARE, &squares);
    let tag = flow.doc.tag(Tag::DOCUMENT, Role::H2);
    flow.text(tag, flow.left, width, sized(12.0, bold("Your order’s page")), "")?;
    flow.y += 2.0;
    for (text, size) in [
        ("Point a phone’s camera at the square, or type this address:", 10.0),
        (url, 9.0),
        (
            "There you see how your order stands and fill in your cut sheet. Whoever has this address can open your order, so \
             give it to nobody else.",
            10.0,
        ),
    ] {
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, flow.left, width, sized(size, plain(text)), "")?;
        flow.y += 4.0;
    }
    if flow.doc.pages() == page {
        flow.y = flow.y.max(top + SQUARE);
    }
    Ok(())
}
