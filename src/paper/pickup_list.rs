//! The pickup list: who collects what and when, with a box to tick and room for a name.

use super::flow::{Column, RowStyle, bold, plain, sized, small};
use super::page::{Align, Role, Tag};
use super::parts::{self, Letterhead};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A pickup list. It is made when it is asked for and kept nowhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PickupList {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was made, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// The day it was made: `October 14, 2027`.
    pub date: String,
    /// Which meat: `Pell Road Meats, Thursday, October 14`.
    pub about: String,
    /// What the mark means; empty where nothing is held.
    pub rule: String,
    /// The windows, and those without one.
    pub groups: Vec<Group>,
}

/// The orders of one window.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// `Saturday, October 30, 2027, 9:00 am to 1:00 pm`.
    pub heading: String,
    /// Name and address of the place.
    pub place: String,
    /// The orders.
    pub rows: Vec<Row>,
}

/// One order, worded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The customer.
    pub name: String,
    /// Where to call.
    pub phone: String,
    /// The order's number.
    pub order: String,
    /// `half hog`.
    pub share: String,
    /// `3 boxes`, `about 61 lb`, or empty.
    pub boxes: String,
    /// `$705.75`, `paid`, `not invoiced`.
    pub balance: String,
    /// Whether it is held until paid.
    pub held: bool,
    /// Who collected it and when; empty while nobody did.
    pub collected: String,
}

impl PickupList {
    /// The paper. The same list always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let about = [self.about.clone()];
        parts::heading(&mut flow, "Pickup list", &about, &[("Made on", self.date.as_str())], "")?;
        if !self.rule.is_empty() {
            parts::paragraphs(&mut flow, std::slice::from_ref(&self.rule), 10.0, 6.0)?;
        }
        let left = flow.left;
        let column = |title, from: f32, width: f32, align| Column { title, x: left + from, width, align };
        let columns = [
            column("Customer", 0.0, 148.0, Align::Left),
            column("Order", 156.0, 84.0, Align::Left),
            column("Boxes", 248.0, 62.0, Align::Left),
            column("Balance", 314.0, 76.0, Align::Right),
            column("Collected by, when", 404.0, flow.right - left - 404.0, Align::Left),
        ];
        for group in &self.groups {
            flow.y += 8.0;
            flow.room(110.0)?;
            let tag = flow.doc.tag(Tag::DOCUMENT, Role::H2);
            flow.text(tag, flow.left, flow.right - flow.left, sized(13.0, bold(&group.heading)), "")?;
            flow.y += 2.0;
            if !group.place.is_empty() {
                parts::paragraphs(&mut flow, std::slice::from_ref(&group.place), 10.0, 4.0)?;
            }
            if group.rows.is_empty() {
                parts::paragraphs(&mut flow, &["Nobody so far.".to_string()], 10.0, 4.0)?;
                continue;
            }
            let table = flow.table(&columns, 30.0)?;
            for row in &group.rows {
                let held = if row.held { "Hold until paid" } else { "" };
                let done = if row.collected.is_empty() { "__________________" } else { row.collected.as_str() };
                let cells: [Vec<_>; 5] = [
                    vec![sized(11.0, bold(&row.name)), small(&row.phone)],
                    vec![sized(10.0, plain(&row.order)), small(&row.share)],
                    vec![sized(10.0, plain(&row.boxes))],
                    vec![sized(10.0, plain(&row.balance)), sized(8.5, bold(held))],
                    vec![sized(10.0, plain(done))],
                ];
                let cells: Vec<&[_]> = cells.iter().map(Vec::as_slice).collect();
                flow.row(table, &columns, RowStyle::LINE, &cells)?;
            }
        }
        parts::footer(&mut flow, &self.head.farm, &format!("Pickup list, {}", self.about));
        let title = format!("Pickup list, {}", self.about);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
