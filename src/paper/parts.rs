//! What all papers share: the letterhead on the rail, the facts beside the heading, sums, and the footer.

use super::PaperError;
use super::cents;
use super::face::Face;
use super::flow::{Column, Flow, LEAD, Part, RowStyle, TOP, bold, plain, sized, small};
use super::page::{Align, PaperSize, Role, Tag};
use crate::trade::money::Money;
use serde::{Deserialize, Serialize};

/// Who the paper is from, and what it is printed on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letterhead {
    /// The sheet.
    pub paper: PaperSize,
    /// The farm's name.
    pub farm: String,
    /// Address, phone and mail, one line each; set small at the right.
    pub contact: Vec<String>,
}

/// A fact beside the heading: `Order`, `2027-031, half beef`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// The fact.
    pub value: String,
}

/// A line of a bill.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// What it is for: `Half beef, by hanging weight`.
    pub name: String,
    /// Small print below, or empty: `Left side weighed hot on September 23 by …`.
    pub note: String,
    /// The sum to redo with a pocket calculator, or empty: `389.50 lb × $4.65`.
    pub reckoned: String,
    /// What it comes to. Negative for what is taken off.
    #[serde(with = "cents")]
    pub amount: Money,
}

/// A sum with its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sum {
    /// `Balance due`.
    pub name: String,
    /// What it comes to.
    #[serde(with = "cents")]
    pub amount: Money,
}

/// A heading with paragraphs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// `How to pay`.
    pub heading: String,
    /// One string per paragraph.
    pub body: Vec<String>,
}

/// The gambrel as drawn in the pages: moves and curves on a field of 104 by 28.
const STEM: [(f32, f32, bool); 2] = [(52.0, 0.0, false), (52.0, 5.0, false)];
const BAR: [(f32, f32, bool); 11] = [
    (15.0, 22.0, false),
    (15.0, 25.0, true),
    (19.0, 26.0, true),
    (21.0, 22.0, false),
    (29.0, 11.0, false),
    (52.0, 5.0, false),
    (75.0, 11.0, false),
    (83.0, 22.0, false),
    (85.0, 26.0, true),
    (89.0, 25.0, true),
    (89.0, 22.0, false),
];
/// Points per unit of the drawing: 66 points for its width.
const GAMBREL: f32 = 66.0 / 104.0;

impl Letterhead {
    /// Begins a paper: the farm's name and contact on the rail, the gambrel under its left end.
    pub(super) fn begin(&self) -> Result<Flow, PaperError> {
        let mut flow = Flow::new(self.paper)?;
        let width = flow.right - flow.left;
        let contact_width = width * 0.5;
        let mut contact = Vec::new();
        for line in self.contact.iter().take(12) {
            contact.extend(flow.doc.wrap(Face::Regular, 9.0, line, contact_width));
        }
        let widest = contact.iter().map(|l| flow.doc.width(Face::Regular, 9.0, l)).fold(0.0, f32::max);
        let name = flow.doc.wrap(Face::Bold, 17.0, &self.farm, width - widest - 24.0);
        let height = (name.len() as f32 * 19.5).max(contact.len() as f32 * 12.6);
        let rail = TOP + height + 8.0;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        for (line, up) in name.iter().zip((0..name.len()).rev()) {
            let at = (flow.left, rail - 12.2 - up as f32 * 19.5);
            flow.doc.text(tag, at, Align::Left, Face::Bold, 17.0, line);
        }
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        for (line, up) in contact.iter().zip((0..contact.len()).rev()) {
            let at = (flow.right, rail - 11.2 - up as f32 * 12.6);
            flow.doc.text(tag, at, Align::Right, Face::Regular, 9.0, line);
        }
        flow.doc.rule(flow.left, flow.right, rail, 2.25);
        let (x0, y0) = (flow.left, rail + 1.1);
        for stroke in [&STEM[..], &BAR[..]] {
            let points = stroke.iter().map(|&(x, y, curve)| (x0 + x * GAMBREL, y0 + y * GAMBREL, curve)).collect();
            flow.doc.path(1.27, points);
        }
        flow.y = rail + 33.0;
        Ok(flow)
    }
}

/// The heading with the address below it, and facts at the right. The second fact given to `strong` is set in bold.
pub(super) fn heading(
    flow: &mut Flow,
    title: &str,
    to: &[String],
    facts: &[(&str, &str)],
    strong: &str,
) -> Result<(), PaperError> {
    let (top, page) = (flow.y, flow.doc.pages());
    let facts_width = if facts.is_empty() { 0.0 } else { 180.0 + 28.8 };
    let left_width = flow.right - flow.left - facts_width;
    let tag = flow.doc.tag(Tag::DOCUMENT, Role::H1);
    for line in flow.doc.wrap(Face::Bold, 21.0, title, left_width) {
        flow.doc.text(tag, (flow.left, flow.y + 20.0), Align::Left, Face::Bold, 21.0, &line);
        flow.y += 24.2;
    }
    flow.y += 9.5;
    let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
    for line in to {
        flow.text(tag, flow.left, left_width, sized(10.5, plain(line)), "")?;
    }
    let (low, broke) = (flow.y, flow.doc.pages() != page);
    if !facts.is_empty() {
        if !broke {
            flow.y = top + 3.0;
        }
        let names = facts.iter().map(|(n, _)| flow.doc.width(Face::Regular, 10.0, n)).fold(0.0, f32::max).min(80.0);
        let (x, value) = (flow.right - 180.0, 180.0 - names - 12.0);
        let columns = [
            Column { title: "", x, width: names, align: Align::Left },
            Column { title: "", x: flow.right - value, width: value, align: Align::Right },
        ];
        let table = flow.doc.tag(Tag::DOCUMENT, Role::Table);
        for (name, fact) in facts {
            let fact = if *name == strong { bold(fact) } else { plain(fact) };
            flow.row(table, &columns, RowStyle::BARE, &[&[sized(10.0, plain(name))], &[sized(10.0, fact)]])?;
        }
    }
    if flow.doc.pages() == page || broke {
        flow.y = flow.y.max(low);
    }
    flow.y += 21.0;
    Ok(())
}

/// The columns of a bill. `Reckoned as` is left out where nothing was reckoned.
pub(super) fn bill_columns<'t>(flow: &mut Flow, lines: &[&Line]) -> Vec<Column<'t>> {
    let mut money = 62.0_f32;
    let mut reckoned = 0.0_f32;
    for line in lines {
        money = money.max(flow.doc.width(Face::Bold, 10.5, &line.amount.shown()));
        reckoned = reckoned.max(flow.doc.width(Face::Regular, 10.5, &line.reckoned));
    }
    let money = Column { title: "Dollars", x: flow.right - money, width: money, align: Align::Right };
    if reckoned == 0.0 {
        let width = money.x - 12.0 - flow.left;
        return vec![Column { title: "For", x: flow.left, width, align: Align::Left }, money];
    }
    let width = reckoned.clamp(104.0, 170.0);
    let middle = Column { title: "Reckoned as", x: money.x - 12.0 - width, width, align: Align::Left };
    let first = Column { title: "For", x: flow.left, width: middle.x - 12.0 - flow.left, align: Align::Left };
    vec![first, middle, money]
}

/// Begins a bill. Its titles stand on the page of its first line.
pub(super) fn bill(flow: &mut Flow, columns: &[Column<'_>], lines: &[Line]) -> Result<Tag, PaperError> {
    let first = match lines.first() {
        Some(line) => bill_cells(flow, columns, line, |flow, cells| flow.row_height(columns, RowStyle::LINE, cells)),
        None => 0.0,
    };
    flow.table(columns, first)
}

/// Adds a line of a bill.
pub(super) fn bill_line(flow: &mut Flow, table: Tag, columns: &[Column<'_>], line: &Line) -> Result<(), PaperError> {
    bill_cells(flow, columns, line, |flow, cells| flow.row(table, columns, RowStyle::LINE, cells))
}

/// The cells of a line of a bill. The small print may run on below the reckoning where that is one line tall.
fn bill_cells<T>(
    flow: &mut Flow,
    columns: &[Column<'_>],
    line: &Line,
    then: impl FnOnce(&mut Flow, &[&[Part<'_>]]) -> T,
) -> T {
    let (mut note, reckoned) = (small(&line.note), plain(&line.reckoned));
    let amount = line.amount.shown();
    let [_, middle, _] = columns else { return then(flow, &[&[plain(&line.name), note], &[plain(&amount)]]) };
    if flow.doc.width(reckoned.face, reckoned.size, reckoned.text) <= middle.width {
        note.beyond = middle.width + 12.0;
    }
    then(flow, &[&[plain(&line.name), note], &[reckoned], &[plain(&amount)]])
}

/// Adds a sum; it spans the columns before the money.
pub(super) fn bill_sum(
    flow: &mut Flow,
    table: Tag,
    style: RowStyle,
    part: Part<'_>,
    amount: &str,
) -> Result<(), PaperError> {
    let columns = sum_columns(flow, part, amount);
    flow.row(table, &columns, style, &[&[part], &[Part { text: amount, ..part }]])
}

/// How tall [`bill_sum`] would be.
pub(super) fn bill_sum_height(flow: &mut Flow, style: RowStyle, part: Part<'_>, amount: &str) -> f32 {
    let columns = sum_columns(flow, part, amount);
    flow.row_height(&columns, style, &[&[part], &[Part { text: amount, ..part }]])
}

fn sum_columns<'t>(flow: &mut Flow, part: Part<'_>, amount: &str) -> [Column<'t>; 2] {
    let width = flow.doc.width(part.face, part.size, amount) + 0.5;
    [
        Column { title: "", x: flow.left, width: flow.right - flow.left - width - 12.0, align: Align::Left },
        Column { title: "", x: flow.right - width, width, align: Align::Right },
    ]
}

/// A heading and paragraphs in small type under a line of `width` points from `x`. `strong` is set in bold.
pub(super) fn section(flow: &mut Flow, section: &Section, x: f32, width: f32, strong: &str) -> Result<(), PaperError> {
    flow.room(60.0)?;
    flow.doc.rule(x, x + width, flow.y, 1.0);
    flow.y += 7.0;
    let tag = flow.doc.tag(Tag::DOCUMENT, Role::H2);
    flow.text(tag, x, width, sized(12.0, bold(&section.heading)), "")?;
    flow.y += 2.0;
    for (i, paragraph) in section.body.iter().enumerate() {
        flow.y += if i > 0 { 4.0 } else { 0.0 };
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, x, width, sized(9.0, plain(paragraph)), strong)?;
    }
    Ok(())
}

/// How tall [`section`] would be.
pub(super) fn section_height(flow: &mut Flow, section: &Section, width: f32) -> f32 {
    let mut height = 9.0 + flow.height(sized(12.0, bold(&section.heading)), width);
    for paragraph in &section.body {
        height += flow.height(sized(9.0, plain(paragraph)), width) + 4.0;
    }
    height
}

/// Paragraphs over the whole width.
pub(super) fn paragraphs(flow: &mut Flow, texts: &[String], size: f32, gap: f32) -> Result<(), PaperError> {
    let width = flow.right - flow.left;
    for text in texts.iter().filter(|t| !t.trim().is_empty()) {
        flow.room(size * LEAD * 2.0)?;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, flow.left, width, sized(size, plain(text)), "")?;
        flow.y += gap;
    }
    Ok(())
}

/// Farm, document and page at the foot of every page.
pub(super) fn footer(flow: &mut Flow, farm: &str, document: &str) {
    let pages = flow.doc.pages();
    let y = flow.doc.size.height() - 46.0;
    let (left, right) = (flow.left, flow.right);
    let mut short = |text: &str, max: f32| {
        let fitted = flow.doc.faces.fit(text, &mut flow.doc.missing).replace('\n', " ");
        flow.doc.faces.shorten(Face::Regular, &fitted, 8.5, max).into_owned()
    };
    let (farm, document) = (short(farm, 160.0), short(document, 200.0));
    for page in 0..pages {
        flow.doc.rule_on(page, left, right, y, super::flow::HAIR);
        let count = format!("Page {} of {pages}", page + 1);
        let y = y + 13.0;
        let words = [
            (left, Align::Left, &farm),
            ((left + right) / 2.0, Align::Center, &document),
            (right, Align::Right, &count),
        ];
        for (x, align, text) in words {
            flow.doc.text_on(page, Tag::ARTIFACT, (x, y), align, Face::Regular, 8.5, text);
        }
    }
}
