//! The packet for a processor: a cover with the head and their owners, totals, what changed, one cut sheet a page in large
//! type, and an empty weigh-in form.

use super::flow::{Column, Flow, LEAD, Part, RowStyle, TITLES, TOP, bold, plain, sized};
use super::page::{Align, Role, Tag};
use super::parts::{self, Fact, Letterhead, Section};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A packet, frozen: everything is worded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Packet {
    /// Which layout draws it; [`LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// `Packet 2 for Thursday, October 14`.
    pub title: String,
    /// Name and address of the plant, one line each.
    pub to: Vec<String>,
    /// Head, delivery, cut sheets, pickup.
    pub facts: Vec<Fact>,
    /// The head in order, each with who owns what of it.
    pub animals: Vec<HeadLine>,
    /// What has to be smoked, seasoned or made into patties, and how much about.
    pub totals: Vec<Fact>,
    /// What changed since the packet before, as papers made by earlier versions list it on their cover.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<String>,
    /// The packet that was sent before: "packet 1"; empty for the first.
    #[serde(default)]
    pub since: String,
    /// What changed since that one, on a page of its own.
    #[serde(default)]
    pub changed: Vec<Section>,
    /// Sides on which two quarters had not agreed when it was made.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<String>,
    /// Words at the foot of the cover: "Not for Sale" and what it rests on.
    pub reminder: Vec<String>,
    /// The cut sheets.
    pub sheets: Vec<SheetPage>,
    /// The rows of the empty weigh-in form.
    pub weigh_in: Vec<String>,
}

/// One head on the cover.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadLine {
    /// `Steer 226`.
    pub name: String,
    /// Sex, age class, official number.
    pub about: String,
    /// `Left side, half: Dele Ashworth, 88 Ferry Road, Elm Fork, 555-0136`.
    pub owners: Vec<String>,
}

/// One share's cut sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetPage {
    /// `Cut sheet 1 of 10 · Pell Road Meats · Thursday, October 14`.
    pub over: String,
    /// The animal's tag.
    pub tag: String,
    /// `Left side · half beef`.
    pub side: String,
    /// Name, phone.
    pub who: Vec<String>,
    /// Carcass number, class and age, revision.
    pub about: Vec<String>,
    /// The instructions in order.
    pub lines: Vec<SheetLine>,
    /// A wish in words; empty for none.
    pub special: String,
    /// `Not for Sale`, or empty.
    pub flag: String,
    /// The order's number; it tells which sheet of the packet before this one follows.
    #[serde(default)]
    pub order: String,
    /// `Changed since packet 1`, `Unchanged since packet 1`, or empty.
    #[serde(default)]
    pub mark: String,
}

/// One instruction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetLine {
    /// `Loin`.
    pub part: String,
    /// What to do.
    pub says: String,
    /// Whether it changed since the packet before.
    pub changed: bool,
}

/// The layout of packets made now. Since 2 what is to be cured and formed is one paragraph, and a long list of head is set smaller
/// before the cover runs over.
pub const LAYOUT: u16 = 2;

/// Type size of the instructions, to be read at arm's length.
const LARGE: f32 = 13.5;
/// The smallest it becomes to keep a sheet on its page.
const SMALLEST: f32 = 9.5;
/// Type size of the words at the foot of the cover.
const REMINDER: f32 = 9.5;
/// Space below the list of head.
const BELOW_HEAD: f32 = 16.0;
/// Space below a section of the cover.
const SECTION_GAP: f32 = 12.0;
/// Space below the instructions.
const GAP: f32 = 10.0;
/// What stands above the wish in words.
const WISH: &str = "Special wish";

impl Packet {
    /// The paper. The same packet always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`]; more than about 95 sheets do not fit one packet.
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        if !(1..=LAYOUT).contains(&self.layout) {
            return Err(PaperError::UnknownLayout(self.layout));
        }
        let mut flow = self.head.begin()?;
        self.cover(&mut flow)?;
        if !self.since.is_empty() {
            flow.doc.next_page()?;
            flow.y = TOP;
            self.what_changed(&mut flow)?;
        }
        for sheet in &self.sheets {
            flow.doc.next_page()?;
            flow.y = TOP;
            sheet.draw(&mut flow)?;
        }
        flow.doc.next_page()?;
        flow.y = TOP;
        self.weigh_in(&mut flow)?;
        parts::footer(&mut flow, &self.head.farm, &self.title);
        let title = format!("{}, {}", self.title, self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }

    fn cover(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let facts: Vec<_> = self.facts.iter().map(|f| (f.name.as_str(), f.value.as_str())).collect();
        parts::heading(flow, &self.title, &self.to, &facts, "Head")?;
        let (left, width) = (flow.left, flow.right - flow.left);
        let columns = [
            Column { title: "Head", x: left, width: 150.0, align: Align::Left },
            Column { title: "Owners", x: left + 162.0, width: width - 162.0, align: Align::Left },
        ];
        let sections = self.sections();
        let foot: f32 = sections.iter().map(|s| parts::section_height(flow, s, width) + SECTION_GAP).sum::<f32>()
            + self.reminder.iter().map(|r| flow.height(sized(REMINDER, plain(r)), width) + 4.0).sum::<f32>();
        // A last paragraph wants room for two lines before it begins.
        let left_over = flow.bottom() - flow.y - TITLES - BELOW_HEAD - foot - REMINDER * LEAD;
        // The list becomes smaller before the cover runs over; a longer one runs over in full size.
        let sizes = [1.0, 0.95, 0.9, 0.85, 0.8];
        let fits = |flow: &mut Flow, size: f32| self.head_height(flow, &columns, size) <= left_over;
        let size = match self.layout {
            1 => 1.0,
            _ => sizes.into_iter().find(|size| fits(flow, *size)).unwrap_or(1.0),
        };
        let table = flow.table(&columns, 30.0)?;
        for head in &self.animals {
            head_cells(head, size, |name, owners| flow.row(table, &columns, head_style(size), &[name, owners]))?;
        }
        flow.y += BELOW_HEAD;
        for section in &sections {
            parts::section(flow, section, left, width, "")?;
            flow.y += SECTION_GAP;
        }
        parts::paragraphs(flow, &self.reminder, REMINDER, 4.0)
    }

    /// What stands on the cover below the list of head.
    fn sections(&self) -> Vec<Section> {
        let mut out = Vec::new();
        let mut add = |heading: String, body: Vec<String>| out.push(Section { heading, body });
        if !self.totals.is_empty() {
            let all: Vec<String> = self.totals.iter().map(|f| format!("{}: {}", f.name, f.value)).collect();
            let body = if self.layout == 1 { all } else { vec![format!("{}.", all.join("; "))] };
            add("To cure, smoke, season and form, about".into(), body);
        }
        if !self.open.is_empty() {
            let heading = "Two quarters of one side had not agreed; the standard cut is on their sheets";
            add(heading.into(), self.open.clone());
        }
        if !self.changes.is_empty() {
            add("Changed since the packet before".into(), self.changes.clone());
        }
        if !self.since.is_empty() {
            let body = match self.changed.len() {
                0 => "Nothing changed.".to_string(),
                _ => "What changed is on the next page, and marked on the sheets.".to_string(),
            };
            add(format!("This packet takes the place of {}", self.since), vec![body]);
        }
        out
    }

    /// How tall the list of head would be in a size.
    fn head_height(&self, flow: &mut Flow, columns: &[Column<'_>], size: f32) -> f32 {
        let style = head_style(size);
        let row = |head| head_cells(head, size, |name, owners| flow.row_height(columns, style, &[name, owners]));
        self.animals.iter().map(row).sum()
    }

    fn what_changed(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let (left, width) = (flow.left, flow.right - flow.left);
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::H1);
        flow.text(tag, left, width, sized(21.0, bold(&format!("What changed since {}", self.since))), "")?;
        flow.y += 6.0;
        let lead = match self.changed.len() {
            0 => "Nothing changed. This packet takes the place of the one before.",
            _ => {
                "This packet takes the place of the one before. Sheets that are not named here are the same as before; each sheet says so as well."
            }
        };
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, left, width, plain(lead), "")?;
        flow.y += 12.0;
        for one in &self.changed {
            let heading = sized(13.0, bold(&one.heading));
            let first = one.body.first().map_or("", String::as_str);
            let height = flow.height(heading, width) + flow.height(sized(11.5, plain(first)), width) + 12.0;
            flow.room(height)?;
            flow.doc.rule(left, flow.right, flow.y, 1.0);
            flow.y += 7.0;
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::H2);
            flow.text(tag, left, width, heading, "")?;
            for line in &one.body {
                flow.y += 2.0;
                let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
                flow.text(tag, left, width, sized(11.5, plain(line)), "")?;
            }
            flow.y += 10.0;
        }
        Ok(())
    }

    fn weigh_in(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let (left, width) = (flow.left, flow.right - flow.left);
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::H1);
        flow.text(tag, left, width, sized(21.0, bold("Hanging weights")), "")?;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        let words = format!("{}. Hot or cold: ________  Weighed on: __________  By: __________", self.title);
        flow.text(tag, left, width, plain(&words), "")?;
        flow.y += 10.0;
        let part = (width - 110.0 - 36.0) / 4.0;
        let mut x = left + 110.0 + 9.0;
        let mut columns = vec![Column { title: "Head", x: left, width: 110.0, align: Align::Left }];
        for title in ["Carcass no.", "Left side", "Right side", "Condemned parts"] {
            columns.push(Column { title, x, width: part, align: Align::Left });
            x += part + 9.0;
        }
        let style = RowStyle { pad: 9.0, ..RowStyle::LINE };
        let table = flow.table(&columns, 36.0)?;
        for name in &self.weigh_in {
            let cells = [bold(name)];
            flow.row(table, &columns, style, &[&cells, &[], &[], &[], &[]])?;
        }
        Ok(())
    }
}

impl SheetPage {
    fn draw(&self, flow: &mut Flow) -> Result<(), PaperError> {
        let (left, width) = (flow.left, flow.right - flow.left);
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, left, width, sized(10.0, plain(&self.over)), "")?;
        let top = flow.y;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::H1);
        flow.text(tag, left, width * 0.55, sized(44.0, bold(&self.tag)), "")?;
        for (size, words) in [(17.0, &self.side), (16.0, &self.flag)] {
            if !words.is_empty() {
                let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
                flow.text(tag, left, width * 0.55, sized(size, bold(words)), "")?;
            }
        }
        let low = std::mem::replace(&mut flow.y, top + 10.0);
        let (x, half) = (left + width * 0.58, width * 0.42);
        for (n, who) in self.who.iter().filter(|w| !w.is_empty()).enumerate() {
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
            let words = if n == 0 { sized(15.0, bold(who)) } else { sized(12.0, plain(who)) };
            flow.text(tag, x, half, words, "")?;
        }
        for about in &self.about {
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
            flow.text(tag, x, half, sized(10.5, plain(about)), "")?;
        }
        if !self.mark.is_empty() {
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
            let words = if self.mark.starts_with("Unchanged") { plain(&self.mark) } else { bold(&self.mark) };
            flow.text(tag, x, half, sized(12.0, words), "")?;
        }
        flow.y = flow.y.max(low) + 8.0;
        flow.doc.rule(left, flow.right, flow.y, 2.0);
        // One share a page: the type becomes smaller before a sheet runs over.
        let left_over = flow.bottom() - flow.y;
        let mut size = LARGE;
        while size > SMALLEST && self.height(flow, size) > left_over {
            size -= 0.5;
        }
        let columns = self.columns(flow);
        let table = flow.doc.tag(Tag::DOCUMENT, Role::Table);
        for line in &self.lines {
            let (part, says) = cells(line, size);
            flow.row(table, &columns, RowStyle { pad: size * 0.36, ..RowStyle::LINE }, &[&part, &says])?;
        }
        flow.y += GAP;
        if self.special.is_empty() { Ok(()) } else { self.wish(flow, size) }
    }

    const fn columns(&self, flow: &Flow) -> [Column<'static>; 2] {
        [
            Column { title: "", x: flow.left, width: 112.0, align: Align::Left },
            Column { title: "", x: flow.left + 124.0, width: flow.right - flow.left - 124.0, align: Align::Left },
        ]
    }

    /// How tall the instructions and the wish would be.
    fn height(&self, flow: &mut Flow, size: f32) -> f32 {
        let columns = self.columns(flow);
        let style = RowStyle { pad: size * 0.36, ..RowStyle::LINE };
        let mut height = GAP;
        for line in &self.lines {
            let (part, says) = cells(line, size);
            height += flow.row_height(&columns, style, &[&part, &says]);
        }
        if self.special.is_empty() { height } else { height + self.wish_height(flow, size) + 10.0 }
    }

    fn wish_height(&self, flow: &mut Flow, size: f32) -> f32 {
        let inner = flow.right - flow.left - 24.0;
        flow.height(sized(11.0, bold(WISH)), inner) + flow.height(sized(size, plain(&self.special)), inner) + 22.0
    }

    /// The wish in words, in a box.
    fn wish(&self, flow: &mut Flow, size: f32) -> Result<(), PaperError> {
        let (left, right) = (flow.left, flow.right);
        let inner = right - left - 24.0;
        let height = self.wish_height(flow, size);
        flow.room(height)?;
        let (top, low) = (flow.y, flow.y + height);
        let corners = [(left, top), (right, top), (right, low), (left, low), (left, top)];
        flow.doc.path(1.5, corners.iter().map(|(x, y)| (*x, *y, false)).collect());
        flow.y += 9.0;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::H2);
        flow.text(tag, left + 12.0, inner, sized(11.0, bold(WISH)), "")?;
        let tag = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.text(tag, left + 12.0, inner, sized(size, plain(&self.special)), "")?;
        flow.y = low + 10.0;
        Ok(())
    }
}

/// A row of the list of head; `size` is a part of the usual type size.
fn head_style(size: f32) -> RowStyle {
    RowStyle { pad: RowStyle::LINE.pad * size, ..RowStyle::LINE }
}

/// The two cells of a head.
fn head_cells<T>(head: &HeadLine, size: f32, then: impl FnOnce(&[Part<'_>], &[Part<'_>]) -> T) -> T {
    let name = [sized(10.5 * size, bold(&head.name)), sized(8.5 * size, plain(&head.about))];
    let owners: Vec<_> = head.owners.iter().map(|o| sized(9.5 * size, plain(o))).collect();
    then(&name, &owners)
}

/// Part and words of one instruction in a type size.
fn cells(line: &SheetLine, size: f32) -> ([Part<'_>; 2], [Part<'_>; 1]) {
    let part = [sized(size, bold(&line.part)), sized(9.5, bold(if line.changed { "CHANGED" } else { "" }))];
    (part, [sized(size, if line.changed { bold(&line.says) } else { plain(&line.says) })])
}
