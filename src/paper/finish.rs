//! From laid-out pages to the bytes of a PDF. printpdf writes what is on the pages; fonts, tags and what the document says
//! about itself are added here.
//!
//! The bytes depend on the document alone: no clock, no counter, no hash order.

use super::PaperError;
use super::face::Face;
use super::file::{File, Id, pack, quoted};
use super::page::{Doc, Item, Kid, Node, Role};
use super::subset::{Cut, Subset};
use chrono::DateTime;
use printpdf::{
    DictItem, FontId, FontMetrics, Line, LinePoint, Mm, Op, PaintMode, ParsedFont, PdfDocument, PdfFontHandle, PdfPage,
    PdfSaveOptions, Point, Polygon, PolygonRing, Pt, TextItem, WindingOrder,
};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// What the document says about itself.
pub struct Meta<'a> {
    /// Shown in the window's title.
    pub title: &'a str,
    /// The farm.
    pub author: &'a str,
    /// When the paper was made, in seconds since 1970 UTC; within the years 1970 to 9999.
    pub made: i64,
    /// Sixteen bytes that belong to this paper alone (ISO 32000-1, 14.4).
    pub id: [u8; 16],
}

/// What the papers are written in (RFC 5646).
const LANGUAGE: &str = "en-US";

struct UsedFont {
    face: Face,
    name: &'static str,
    cut: Cut,
    chars: BTreeSet<char>,
}

impl UsedFont {
    fn id(&self) -> FontId {
        FontId(self.name.into())
    }
}

impl Doc {
    /// Writes the document.
    ///
    /// # Errors
    /// [`PaperError`] when a part cannot be written.
    pub fn finish(mut self, meta: &Meta<'_>) -> Result<Vec<u8>, PaperError> {
        let fonts = self.used_fonts()?;
        let (contents, marked) = self.contents(&fonts)?;
        let mut file = File::new();
        let resources = resources(&mut file, &fonts);
        let pages = self.pages_tree(&mut file, resources, &contents)?;
        let tags = self.tag_tree(&mut file, &pages.1, &marked);
        let catalog = file.add(format!(
            "<< /Type /Catalog /Pages {} /Lang ({LANGUAGE}) /MarkInfo << /Marked true >> \
             /ViewerPreferences << /DisplayDocTitle true >> /StructTreeRoot {tags} >>",
            pages.0
        ));
        let made = DateTime::from_timestamp(meta.made.clamp(0, 253_402_300_799), 0).unwrap_or_default();
        let info = file.add(format!(
            "<< /Title {} /Author {} /Creator (Gambrel) /Producer (printpdf) /CreationDate (D:{}Z) >>",
            quoted(meta.title),
            quoted(meta.author),
            made.format("%Y%m%d%H%M%S")
        ));
        let mut id = String::with_capacity(32);
        for byte in meta.id {
            let _ = write!(id, "{byte:02X}");
        }
        file.finish(&format!("/Root {catalog} /Info {info} /ID [<{id}> <{id}>]"))
    }

    fn used_fonts(&self) -> Result<Vec<UsedFont>, PaperError> {
        let mut fonts = Vec::new();
        for (face, name) in [(Face::Regular, "GR"), (Face::Bold, "GB")] {
            let mut chars = BTreeSet::new();
            for item in self.pages.iter().flatten() {
                if let Item::Text { face: f, text, .. } = item
                    && *f == face
                {
                    chars.extend(text.chars());
                }
            }
            if !chars.is_empty() {
                chars.insert(' '); // between lines
                fonts.push(UsedFont { face, name, cut: Cut::for_chars(face, &chars)?, chars });
            }
        }
        Ok(fonts)
    }

    /// What is on each page, written by printpdf, and which part of the tag tree each marked piece of it belongs to.
    fn contents(&mut self, fonts: &[UsedFont]) -> Result<(Vec<Vec<u8>>, Vec<Vec<usize>>), PaperError> {
        let mut pdf = PdfDocument::new("");
        for font in fonts {
            pdf.resources.fonts.map.insert(font.id(), self.stand_in(font));
        }
        let mut marked = Vec::with_capacity(self.pages.len());
        for page in 0..self.pages.len() {
            let (ops, nodes) = self.ops(page, fonts);
            pdf.pages.push(PdfPage::new(Mm(0.0), Mm(0.0), ops));
            marked.push(nodes);
        }
        let mut warnings = Vec::new();
        let options = PdfSaveOptions { image_optimization: None, subset_fonts: false, ..Default::default() };
        let written = pdf.to_lopdf_document(&options, &mut warnings);
        if let Some(first) = warnings.first() {
            return Err(PaperError::Write(format!("{first:?}")));
        }
        let contents = written.get_pages().into_values().map(|page| written.get_page_content(page)).collect();
        Ok((contents, marked))
    }

    /// The font as printpdf needs it to write texts: which letter has which number. The file itself is added later.
    fn stand_in(&self, font: &UsedFont) -> printpdf::font::PdfFont {
        let (file, cut) = (self.faces.font(font.face), font.cut.get());
        let ids = font.chars.iter().filter_map(|&c| Some((u32::from(c), cut.id(c)?))).collect();
        let metrics = FontMetrics { ascent: file.ascent, descent: file.descent };
        let nothing = vec![0, 1, 0, 0]; // begins like a TrueType file, so printpdf takes it for one
        let widths = BTreeMap::new();
        printpdf::font::PdfFont::new(ParsedFont::with_glyph_data(nothing, 0, None, ids, widths, 1000, metrics))
    }

    fn ops(&mut self, page: usize, fonts: &[UsedFont]) -> (Vec<Op>, Vec<usize>) {
        let (height, items) = (self.size.height(), self.pages.get(page).map_or(&[][..], Vec::as_slice));
        let (mut ops, mut marked) = (Vec::with_capacity(items.len() * 6), Vec::new());
        let mut open: Option<Option<usize>> = None;
        let (mut font, mut thickness) = (None, None);
        let mut coming = items.iter().skip(1);
        for item in items {
            let next = coming.next();
            let node = match item {
                Item::Text { tag, .. } => tag.0,
                Item::Path { .. } | Item::Squares { .. } => None,
            };
            if open != Some(node) {
                if open.is_some() {
                    ops.push(Op::EndMarkedContent);
                }
                ops.push(match node.and_then(|n| self.nodes.get_mut(n).map(|node| (n, node))) {
                    Some((n, node)) => {
                        let mcid = marked.len();
                        marked.push(n);
                        node.kids.push(Kid::Marked { page, mcid });
                        let map = BTreeMap::from([("MCID".to_owned(), DictItem::Int(mcid as i64))]);
                        Op::BeginMarkedContentWithProperties {
                            tag: node.role.name().into(),
                            properties: DictItem::Dict { map },
                        }
                    }
                    None => Op::BeginMarkedContent { tag: "Artifact".into() },
                });
                open = Some(node);
            }
            match item {
                Item::Text { x, y, size, face, text, tag } => {
                    // a space between lines, for those who have the page read to them
                    let more = matches!(next, Some(Item::Text { tag: t, y: below, .. }) if t == tag && below > y);
                    let text = if more && tag.0.is_some() { format!("{text} ") } else { text.clone() };
                    ops.push(Op::StartTextSection);
                    if font != Some((*face, *size))
                        && let Some(used) = fonts.iter().find(|f| f.face == *face)
                    {
                        ops.push(Op::SetFont { font: PdfFontHandle::External(used.id()), size: Pt(*size) });
                        font = Some((*face, *size));
                    }
                    ops.push(Op::SetTextCursor { pos: point(*x, height - y) });
                    ops.push(Op::ShowText { items: vec![TextItem::Text(text)] });
                    ops.push(Op::EndTextSection);
                }
                Item::Path { width, points } => {
                    if thickness != Some(*width) {
                        ops.push(Op::SetOutlineThickness { pt: Pt(*width) });
                        thickness = Some(*width);
                    }
                    let points =
                        points.iter().map(|&(x, y, bezier)| LinePoint { p: point(x, height - y), bezier }).collect();
                    ops.push(Op::DrawLine { line: Line { points, is_closed: false } });
                }
                Item::Squares { x, y, length, at } => {
                    let corner = |column: usize, row: usize| LinePoint {
                        p: point(x + column as f32 * length, height - (y + row as f32 * length)),
                        bezier: false,
                    };
                    let ring = |&(c, r): &(usize, usize)| PolygonRing {
                        points: vec![corner(c, r), corner(c + 1, r), corner(c + 1, r + 1), corner(c, r + 1)],
                    };
                    let (mode, winding_order) = (PaintMode::Fill, WindingOrder::NonZero);
                    let polygon = Polygon { rings: at.iter().map(ring).collect(), mode, winding_order };
                    ops.push(Op::DrawPolygon { polygon });
                }
            }
        }
        if open.is_some() {
            ops.push(Op::EndMarkedContent);
        }
        (ops, marked)
    }

    /// Adds the pages; gives the tree and each page.
    fn pages_tree(
        &self,
        file: &mut File<'_>,
        resources: Id,
        contents: &[Vec<u8>],
    ) -> Result<(Id, Vec<Id>), PaperError> {
        let (tree, mut pages, mut kids) = (file.promise(), Vec::with_capacity(contents.len()), String::new());
        for (number, content) in contents.iter().enumerate() {
            let content = file.add_stream("", pack(content)?);
            let page = file.add(format!(
                "<< /Type /Page /Parent {tree} /Resources {resources} /Contents {content} /StructParents {number} /Tabs /S >>"
            ));
            let _ = write!(kids, "{page} ");
            pages.push(page);
        }
        file.keep(
            tree,
            format!(
                "<< /Type /Pages /Count {} /Kids [{kids}] /MediaBox [0 0 {} {}] >>",
                pages.len(),
                self.size.width(),
                self.size.height()
            ),
        );
        Ok((tree, pages))
    }

    /// Adds the tag tree (ISO 32000-1, 14.7): what each piece on the pages is, in reading order.
    fn tag_tree(&self, file: &mut File<'_>, pages: &[Id], marked: &[Vec<usize>]) -> Id {
        let root = file.promise();
        let ids: Vec<Id> = self.nodes.iter().map(|_| file.promise()).collect();
        for (number, (node, id)) in self.nodes.iter().zip(&ids).enumerate() {
            let parent = if number == 0 { root } else { ids.get(node.parent).copied().unwrap_or(root) };
            file.keep(*id, element(node, parent, &ids, pages));
        }
        let mut numbers = String::new();
        for (page, nodes) in marked.iter().enumerate() {
            let _ = write!(numbers, "{page} [");
            for id in nodes.iter().filter_map(|n| ids.get(*n)) {
                let _ = write!(numbers, "{id} ");
            }
            numbers.push(']');
        }
        let document = ids.first().copied().unwrap_or(root);
        file.keep(
            root,
            format!(
                "<< /Type /StructTreeRoot /K {document} /ParentTree << /Nums [{numbers}] >> /ParentTreeNextKey {} >>",
                marked.len()
            ),
        );
        root
    }
}

/// One part of the tag tree. Pieces on the page where the part begins are named by number alone.
fn element(node: &Node, parent: Id, ids: &[Id], pages: &[Id]) -> String {
    let mut out = format!("<< /S /{} /P {parent}", node.role.name());
    match node.role {
        Role::TH => out.push_str(" /A << /O /Table /Scope /Column >>"),
        Role::RowTH => out.push_str(" /A << /O /Table /Scope /Row >>"),
        _ => {}
    }
    let home = node.kids.iter().find_map(|kid| match kid {
        Kid::Marked { page, .. } => Some(*page),
        Kid::Node(_) => None,
    });
    if let Some(page) = home.and_then(|p| pages.get(p)) {
        let _ = write!(out, " /Pg {page}");
    }
    out.push_str(" /K [");
    for kid in &node.kids {
        let _ = match kid {
            Kid::Node(n) => ids.get(*n).map(|id| write!(out, "{id} ")),
            Kid::Marked { page, mcid } if home == Some(*page) => Some(write!(out, "{mcid} ")),
            Kid::Marked { page, mcid } => {
                pages.get(*page).map(|page| write!(out, "<< /Type /MCR /Pg {page} /MCID {mcid} >> "))
            }
        };
    }
    out.push_str("] >>");
    out
}

/// Adds the fonts (ISO 32000-1, 9.7 and 9.8) and the resources every page shares.
fn resources<'a>(file: &mut File<'a>, fonts: &'a [UsedFont]) -> Id {
    let mut names = String::new();
    for font in fonts {
        let cut: &'a Subset = font.cut.get();
        let program = file.add_stream(format!("/Length1 {}", cut.length), cut.packed.as_slice());
        let descriptor = file.add(format!("<< {} /FontFile2 {program} >>", cut.descriptor));
        let letters = file.add(format!("<< {} /FontDescriptor {descriptor} >>", cut.letters));
        let table = file.add_stream("", cut.to_unicode.as_slice());
        let id = file.add(format!(
            "<< /Type /Font /Subtype /Type0 /BaseFont /{} /Encoding /Identity-H /DescendantFonts [{letters}] \
             /ToUnicode {table} >>",
            cut.name
        ));
        let _ = write!(names, "/{} {id} ", font.name);
    }
    file.add(format!("<< /Font << {names}>> >>"))
}

/// A place on the page, to the hundredth of a point.
fn point(x: f32, y: f32) -> Point {
    let hundredth = |v: f32| Pt((v * 100.0).round() / 100.0);
    Point { x: hundredth(x), y: hundredth(y) }
}
