//! Text and tables that run down a page and on to the next one.

use super::PaperError;
use super::face::Face;
use super::page::{Align, Doc, PaperSize, Role, Tag};

/// Width of the text block, in points: a Letter sheet less two margins of 0.7 inch. A4 keeps it, so lines break alike.
pub const MEASURE: f32 = 612.0 - 2.0 * 50.4;
/// Where the text begins on a page.
pub const TOP: f32 = 43.2;
/// Room at the foot of the sheet that belongs to the footer.
const FOOT: f32 = 62.0;
/// A line of reading text at 10.5 points.
pub const LEAD: f32 = 1.45;
/// Height of the row of titles.
pub const TITLES: f32 = 18.0;
/// The thin line under a row.
pub const HAIR: f32 = 0.4;

/// A paper being filled from top to bottom.
pub struct Flow {
    /// What is filled.
    pub doc: Doc,
    /// Where the next line begins (its top), in points from the top of the sheet.
    pub y: f32,
    /// The left edge of the text block.
    pub left: f32,
    /// The right edge of the text block.
    pub right: f32,
}

/// A text in one face and size.
#[derive(Debug, Clone, Copy)]
pub struct Part<'t> {
    /// Which face.
    pub face: Face,
    /// Type size in points.
    pub size: f32,
    /// The words.
    pub text: &'t str,
    /// How far beyond its column it may reach to the right, where nothing stands beside it.
    pub beyond: f32,
}

/// Reading text.
pub const fn plain(text: &str) -> Part<'_> {
    Part { face: Face::Regular, size: 10.5, text, beyond: 0.0 }
}
/// Small print under a line.
pub const fn small(text: &str) -> Part<'_> {
    Part { face: Face::Regular, size: 8.5, text, beyond: 0.0 }
}
/// Reading text in bold.
pub const fn bold(text: &str) -> Part<'_> {
    Part { face: Face::Bold, size: 10.5, text, beyond: 0.0 }
}
/// The same text in another size.
pub const fn sized(size: f32, part: Part<'_>) -> Part<'_> {
    Part { size, ..part }
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Column<'t> {
    /// The words above it.
    pub title: &'t str,
    /// Its left edge.
    pub x: f32,
    /// Its width.
    pub width: f32,
    /// Where its texts stand.
    pub align: Align,
}

/// A line broken to fit: what it says and how tall it is.
struct Broken {
    face: Face,
    size: f32,
    lead: f32,
    text: String,
}

/// How a row is set.
#[derive(Debug, Clone, Copy)]
pub struct RowStyle {
    /// Space above and below.
    pub pad: f32,
    /// Thickness of a line above, 0 for none.
    pub above: f32,
    /// Thickness of a line below, 0 for none.
    pub below: f32,
    /// Whether the line below is a double one.
    pub double: bool,
}

impl RowStyle {
    /// A row like most.
    pub const LINE: Self = Self { pad: 5.0, above: 0.0, below: HAIR, double: false };
    /// A sum of the rows above.
    pub const SUM: Self = Self { pad: 5.0, above: 1.0, below: HAIR, double: false };
    /// The last sum, over a double line.
    pub const TOTAL: Self = Self { pad: 5.5, above: 1.0, below: 1.0, double: true };
    /// A row without lines.
    pub const BARE: Self = Self { pad: 1.2, above: 0.0, below: 0.0, double: false };
}

/// The baseline of a line whose top is at `y`.
fn baseline(y: f32, size: f32, lead: f32) -> f32 {
    y + (lead - size) / 2.0 + size * 0.82
}

impl Flow {
    /// An empty paper.
    ///
    /// # Errors
    /// [`PaperError::Font`] when the built-in fonts are damaged.
    pub fn new(size: PaperSize) -> Result<Self, PaperError> {
        let left = (size.width() - MEASURE) / 2.0;
        Ok(Self { doc: Doc::new(size)?, y: TOP, left, right: left + MEASURE })
    }

    /// The lowest a line may end.
    pub fn bottom(&self) -> f32 {
        self.doc.size.height() - FOOT
    }

    /// Goes on to the next page unless `height` points are left on this one; says whether it did. Nothing is gained on a
    /// page that is still empty, so there it stays.
    ///
    /// # Errors
    /// [`PaperError::TooLong`].
    pub fn room(&mut self, height: f32) -> Result<bool, PaperError> {
        if self.y + height <= self.bottom() || self.y <= TOP {
            return Ok(false);
        }
        self.doc.next_page()?;
        self.y = TOP;
        Ok(true)
    }

    /// Sets a text within `width` points from `x`, line by line, over pages if need be. `strong` is set in bold where it
    /// stands and is no wider for it.
    ///
    /// # Errors
    /// [`PaperError::TooLong`].
    pub fn text(&mut self, tag: Tag, x: f32, width: f32, part: Part<'_>, strong: &str) -> Result<(), PaperError> {
        let lead = part.size * LEAD;
        for line in self.doc.wrap(part.face, part.size, part.text, width) {
            self.room(lead)?;
            let y = baseline(self.y, part.size, lead);
            self.line(tag, (x, y), part, &line, strong);
            self.y += lead;
        }
        Ok(())
    }

    fn line(&mut self, tag: Tag, (x, y): (f32, f32), part: Part<'_>, line: &str, strong: &str) {
        let Part { face, size, .. } = part;
        let alike = !strong.is_empty()
            && (self.doc.width(face, size, strong) - self.doc.width(Face::Bold, size, strong)).abs() < 0.01;
        match line.split_once(strong).filter(|_| alike) {
            Some((before, after)) => {
                let mut at = x;
                for (face, piece) in [(face, before), (Face::Bold, strong), (face, after)] {
                    at += self.doc.text(tag, (at, y), Align::Left, face, size, piece);
                }
            }
            None => drop(self.doc.text(tag, (x, y), Align::Left, face, size, line)),
        }
    }

    /// How tall a text would be.
    pub fn height(&mut self, part: Part<'_>, width: f32) -> f32 {
        self.doc.wrap(part.face, part.size, part.text, width).len() as f32 * part.size * LEAD
    }

    /// Begins a table with a row of titles, on the page where its first row, `first` points tall, will stand.
    ///
    /// # Errors
    /// [`PaperError::TooLong`].
    pub fn table(&mut self, columns: &[Column<'_>], first: f32) -> Result<Tag, PaperError> {
        self.room(first.clamp(50.0, self.bottom() - TOP - TITLES) + TITLES + 3.0)?;
        let table = self.doc.tag(Tag::DOCUMENT, Role::Table);
        let row = self.doc.tag(table, Role::TR);
        self.titles(row, columns);
        Ok(table)
    }

    fn titles(&mut self, row: Tag, columns: &[Column<'_>]) {
        let y = baseline(self.y, 9.0, 13.0);
        for c in columns {
            let tag = self.doc.tag(row, Role::TH);
            let x = if c.align == Align::Right { c.x + c.width } else { c.x };
            self.doc.text(tag, (x, y), c.align, Face::Regular, 9.0, c.title);
        }
        self.y += TITLES;
        self.doc.rule(self.left, self.right, self.y, 1.0);
    }

    fn broken(&mut self, columns: &[Column<'_>], cells: &[&[Part<'_>]]) -> Vec<Vec<Broken>> {
        let mut broken = Vec::with_capacity(cells.len());
        for (column, cell) in columns.iter().zip(cells) {
            let mut lines = Vec::new();
            for &Part { face, size, text, beyond } in cell.iter().filter(|p| !p.text.is_empty()) {
                for text in self.doc.wrap(face, size, text, column.width + beyond) {
                    lines.push(Broken { face, size, lead: size * LEAD, text });
                }
            }
            broken.push(lines);
        }
        broken
    }

    /// How tall a row would be.
    pub fn row_height(&mut self, columns: &[Column<'_>], style: RowStyle, cells: &[&[Part<'_>]]) -> f32 {
        let broken = self.broken(columns, cells);
        style.pad * 2.0 + tallest(&broken) + if style.double { 3.0 } else { 0.0 }
    }

    /// Adds a row. It stays on one page if a page can hold it; on a new page the titles come first, again.
    ///
    /// # Errors
    /// [`PaperError::TooLong`].
    pub fn row(
        &mut self,
        table: Tag,
        columns: &[Column<'_>],
        style: RowStyle,
        cells: &[&[Part<'_>]],
    ) -> Result<(), PaperError> {
        let broken = self.broken(columns, cells);
        let height = style.pad * 2.0 + tallest(&broken);
        let whole = height <= self.bottom() - TOP - TITLES - 6.0;
        if whole && self.room(height + 3.0)? && columns.iter().any(|c| !c.title.is_empty()) {
            self.titles(Tag::ARTIFACT, columns);
        }
        if style.above > 0.0 {
            self.doc.rule(self.left, self.right, self.y, style.above);
        }
        let row = self.doc.tag(table, Role::TR);
        let (top, mut lowest) = (self.y + style.pad, self.y);
        let mut cells = Vec::with_capacity(columns.len());
        for (i, (column, lines)) in columns.iter().zip(&broken).enumerate() {
            let tag = self.doc.tag(row, if i == 0 { Role::RowTH } else { Role::TD });
            cells.push((tag, column, lines));
        }
        if !whole {
            cells.reverse(); // the figures go where the row begins, the long words after them
        }
        for (tag, column, lines) in cells {
            let x = if column.align == Align::Right { column.x + column.width } else { column.x };
            self.y = top;
            for line in lines {
                if !whole && self.room(line.lead)? {
                    lowest = TOP;
                }
                let y = baseline(self.y, line.size, line.lead);
                self.doc.text(tag, (x, y), column.align, line.face, line.size, &line.text);
                self.y += line.lead;
            }
            lowest = lowest.max(self.y);
        }
        self.y = lowest + style.pad;
        if style.below > 0.0 {
            self.doc.rule(self.left, self.right, self.y, style.below);
        }
        if style.double {
            self.y += 2.2;
            self.doc.rule(self.left, self.right, self.y, style.below);
        }
        Ok(())
    }
}

fn tallest(cells: &[Vec<Broken>]) -> f32 {
    cells.iter().map(|lines| lines.iter().map(|l| l.lead).sum()).fold(0.0, f32::max)
}
