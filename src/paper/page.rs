//! Pages as they are being laid out: texts, lines and the tag tree. Points throughout, measured from the top left corner.

use super::PaperError;
use super::face::{Face, Faces, faces};
use super::qr::Squares;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// The sheet a paper is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PaperSize {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 millimeters (ISO 216).
    A4,
}

impl PaperSize {
    /// Width in points.
    pub const fn width(self) -> f32 {
        match self {
            Self::Letter => 612.0,
            Self::A4 => 595.28,
        }
    }
    /// Height in points.
    pub const fn height(self) -> f32 {
        match self {
            Self::Letter => 792.0,
            Self::A4 => 841.89,
        }
    }
}

/// Where a text stands against its `x`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// It begins there.
    Left,
    /// It ends there.
    Right,
    /// It is centered there.
    Center,
}

/// A place in the tag tree; what screen readers follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tag(pub(super) Option<usize>);

impl Tag {
    /// The document itself.
    pub const DOCUMENT: Self = Self(Some(0));
    /// Outside of the tree: footers, repeated heads, ornament.
    pub const ARTIFACT: Self = Self(None);
}

/// What a part of a paper is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The whole.
    Document,
    /// The heading.
    H1,
    /// A smaller heading.
    H2,
    /// A paragraph.
    P,
    /// A table; holds rows.
    Table,
    /// A row; holds cells.
    TR,
    /// A cell that heads its column.
    TH,
    /// A cell that heads its row.
    RowTH,
    /// A cell.
    TD,
}

impl Role {
    /// The name in the document (ISO 32000-1, 14.8.4).
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Document => "Document",
            Self::H1 => "H1",
            Self::H2 => "H2",
            Self::P => "P",
            Self::Table => "Table",
            Self::TR => "TR",
            Self::TH | Self::RowTH => "TH",
            Self::TD => "TD",
        }
    }
}

pub(super) enum Kid {
    Node(usize),
    Marked { page: usize, mcid: usize },
}

pub(super) struct Node {
    pub role: Role,
    pub parent: usize,
    pub kids: Vec<Kid>,
}

pub(super) enum Item {
    Text {
        x: f32,
        y: f32,
        size: f32,
        face: Face,
        text: String,
        tag: Tag,
    },
    Path {
        width: f32,
        points: Vec<(f32, f32, bool)>,
    },
    /// Black squares of one length on a grid whose corner is at `x` and `y`.
    Squares {
        x: f32,
        y: f32,
        length: f32,
        at: Vec<(usize, usize)>,
    },
}

/// More pages than any honest paper has.
const MOST_PAGES: usize = 100;

/// A paper being laid out.
pub struct Doc {
    pub(super) faces: &'static Faces,
    pub(super) size: PaperSize,
    pub(super) pages: Vec<Vec<Item>>,
    pub(super) nodes: Vec<Node>,
    /// Characters that came out as `?`.
    pub missing: BTreeSet<char>,
}

impl Doc {
    /// A paper with its first page, empty.
    ///
    /// # Errors
    /// [`PaperError::Font`] when the built-in fonts are damaged.
    pub fn new(size: PaperSize) -> Result<Self, PaperError> {
        let root = Node { role: Role::Document, parent: 0, kids: Vec::new() };
        Ok(Self {
            faces: faces()?,
            size,
            pages: vec![Vec::with_capacity(128)],
            nodes: vec![root],
            missing: BTreeSet::new(),
        })
    }

    /// How many pages there are.
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Begins another page; what is placed from now on goes there.
    ///
    /// # Errors
    /// [`PaperError::TooLong`] past 100 pages.
    pub fn next_page(&mut self) -> Result<(), PaperError> {
        if self.pages.len() >= MOST_PAGES {
            return Err(PaperError::TooLong);
        }
        self.pages.push(Vec::with_capacity(128));
        Ok(())
    }

    /// Adds a part to the tag tree.
    pub fn tag(&mut self, parent: Tag, role: Role) -> Tag {
        let Some(parent) = parent.0 else { return Tag::ARTIFACT };
        let new = self.nodes.len();
        if let Some(node) = self.nodes.get_mut(parent) {
            node.kids.push(Kid::Node(new));
        }
        self.nodes.push(Node { role, parent, kids: Vec::new() });
        Tag(Some(new))
    }

    /// Breaks a text into printable lines at most `max` points wide; see [`Faces::wrap`].
    pub fn wrap(&mut self, face: Face, size: f32, text: &str, max: f32) -> Vec<String> {
        let fitted = self.faces.fit(text, &mut self.missing);
        self.faces.wrap(face, &fitted, size, max)
    }

    /// The width of a text in points.
    pub fn width(&mut self, face: Face, size: f32, text: &str) -> f32 {
        let fitted = self.faces.fit(text, &mut self.missing);
        self.faces.width(face, &fitted, size)
    }

    /// Places one line of text with its baseline at `y` on the last page; gives back its width.
    pub fn text(&mut self, tag: Tag, at: (f32, f32), align: Align, face: Face, size: f32, text: &str) -> f32 {
        let last = self.pages.len().saturating_sub(1);
        self.text_on(last, tag, at, align, face, size, text)
    }

    /// Places one line of text on a given page, counted from 0.
    pub fn text_on(
        &mut self,
        page: usize,
        tag: Tag,
        (x, y): (f32, f32),
        align: Align,
        face: Face,
        size: f32,
        text: &str,
    ) -> f32 {
        let text = self.faces.fit(text, &mut self.missing).replace('\n', " ");
        let width = self.faces.width(face, &text, size);
        let x = match align {
            Align::Left => x,
            Align::Right => x - width,
            Align::Center => x - width / 2.0,
        };
        if let Some(items) = self.pages.get_mut(page).filter(|_| !text.is_empty()) {
            items.push(Item::Text { x, y, size, face, text, tag });
        }
        width
    }

    /// Draws a level line from `from` to `to` with its middle at `y`, `width` points thick.
    pub fn rule(&mut self, from: f32, to: f32, y: f32, width: f32) {
        self.path(width, vec![(from, y, false), (to, y, false)]);
    }

    /// Draws an open line through points; `true` marks the two control points before a curve's end.
    pub fn path(&mut self, width: f32, points: Vec<(f32, f32, bool)>) {
        if let Some(items) = self.pages.last_mut() {
            items.push(Item::Path { width, points });
        }
    }

    /// Draws a square for a camera, `width` points wide with its quiet border, its top left corner at `x` and `y`.
    pub fn squares(&mut self, (x, y): (f32, f32), width: f32, squares: &Squares) {
        let length = width / squares.side.max(1) as f32;
        if let Some(items) = self.pages.last_mut() {
            items.push(Item::Squares { x, y, length, at: squares.dark.clone() });
        }
    }

    /// [`Doc::rule`] on a given page, counted from 0.
    pub fn rule_on(&mut self, page: usize, from: f32, to: f32, y: f32, width: f32) {
        if let Some(items) = self.pages.get_mut(page) {
            items.push(Item::Path { width, points: vec![(from, y, false), (to, y, false)] });
        }
    }
}
