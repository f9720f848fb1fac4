//! A letter: the words of a message on paper, for customers without mail.

use super::face::Face;
use super::flow::{bold, plain, sized};
use super::page::{Align, Role, Tag};
use super::parts::{self, Letterhead};
use super::{PaperError, Sealed, seal};
use serde::{Deserialize, Serialize};

/// A letter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letter {
    /// Which layout draws it; [`super::LAYOUT`] for new ones.
    pub layout: u16,
    /// When it was written, in seconds since 1970 UTC.
    pub made: i64,
    /// Who it is from.
    pub head: Letterhead,
    /// Name and address of the customer, one line each.
    pub to: Vec<String>,
    /// `October 5, 2027`.
    pub date: String,
    /// What it is about.
    pub subject: String,
    /// One string per paragraph, greeting and closing among them; line ends inside a paragraph are kept.
    pub body: Vec<String>,
}

impl Letter {
    /// The paper. The same letter always gives the same bytes.
    ///
    /// # Errors
    /// [`PaperError`].
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        super::known_layout(self.layout)?;
        let mut flow = self.head.begin()?;
        let (left, width) = (flow.left, flow.right - flow.left);
        let date = flow.doc.tag(Tag::DOCUMENT, Role::P);
        flow.doc.text(date, (flow.right, flow.y + 10.8), Align::Right, Face::Regular, 10.5, &self.date);
        let to = flow.doc.tag(Tag::DOCUMENT, Role::P);
        for line in &self.to {
            flow.text(to, left, width * 0.6, plain(line), "")?;
        }
        flow.y += 30.0;
        if !self.subject.is_empty() {
            let subject = flow.doc.tag(Tag::DOCUMENT, Role::H1);
            flow.text(subject, left, width, sized(13.0, bold(&self.subject)), "")?;
            flow.y += 10.0;
        }
        parts::paragraphs(&mut flow, &self.body, 10.5, 8.0)?;
        parts::footer(&mut flow, &self.head.farm, &format!("Letter, {}", self.date));
        let title = if self.subject.is_empty() { "Letter" } else { &self.subject };
        let title = format!("{title}, {}", self.head.farm);
        seal(flow, self, &Sealed { title: &title, farm: &self.head.farm, made: self.made })
    }
}
