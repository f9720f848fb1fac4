//! From laid-out pages to the bytes of a PDF: printpdf writes the pages, lopdf the rest that printpdf has no way to say
//! (tags, language, packed fonts, a document id that does not change).
//!
//! The bytes depend on the document alone: no clock, no counter, no hash order.

use super::PaperError;
use super::face::Face;
use super::page::{Doc, Item, Kid, Node, Role};
use super::subset::{Cut, Subset};
use lopdf::{Dictionary, Object, ObjectId, Stream, StringFormat, dictionary};
use printpdf::{
    DictItem, FontId, FontMetrics, Line, LinePoint, Mm, Op, ParsedFont, PdfDocument, PdfFontHandle, PdfPage,
    PdfSaveOptions, Point, Pt, TextItem,
};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;

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

/// Deflates at the middle level: the best level is three times slower and saves 1 %.
pub(super) fn deflate(bytes: &[u8]) -> Result<Vec<u8>, PaperError> {
    let out = Vec::with_capacity(bytes.len() / 2 + 64);
    let mut encoder = flate2::write::ZlibEncoder::new(out, flate2::Compression::new(6));
    encoder.write_all(bytes).and_then(|()| encoder.finish()).map_err(|e| PaperError::Write(e.to_string()))
}

struct UsedFont {
    face: Face,
    id: FontId,
    cut: Cut,
}

impl Doc {
    /// Writes the document.
    ///
    /// # Errors
    /// [`PaperError`] when `made` is out of range or a part cannot be written.
    pub fn finish(mut self, meta: &Meta<'_>) -> Result<Vec<u8>, PaperError> {
        let fonts = self.used_fonts()?;
        let mut pdf = PdfDocument::new(meta.title);
        for (font, chars) in &fonts {
            pdf.resources.fonts.map.insert(font.id.clone(), self.stand_in(font, chars));
        }
        let mut parents = Vec::with_capacity(self.pages.len());
        for page in 0..self.pages.len() {
            let (ops, marked) = self.ops(page, &fonts);
            pdf.pages.push(PdfPage::new(Mm(0.0), Mm(0.0), ops));
            parents.push(marked);
        }
        let info = &mut pdf.metadata.info;
        info.author = meta.author.into();
        info.creator = "Gambrel".into();
        info.producer = "printpdf".into();
        let made = printpdf::OffsetDateTime::from_unix_timestamp(meta.made.clamp(0, 253_402_300_799))
            .map_err(|e| PaperError::Write(e.to_owned()))?;
        info.creation_date = made.clone();
        info.modification_date = made.clone();
        info.metadata_date = made;
        let mut warnings = Vec::new();
        let options = PdfSaveOptions { image_optimization: None, subset_fonts: false, ..Default::default() };
        let mut lo = pdf.to_lopdf_document(&options, &mut warnings);
        if let Some(first) = warnings.first() {
            return Err(PaperError::Write(format!("{first:?}")));
        }
        self.complete(&mut lo, meta, &parents, &fonts)?;
        let mut out = Vec::with_capacity(48 * 1024);
        lo.save_modern(&mut out).map_err(|e| PaperError::Write(e.to_string()))?;
        Ok(out)
    }

    fn used_fonts(&self) -> Result<Vec<(UsedFont, BTreeSet<char>)>, PaperError> {
        let mut fonts = Vec::new();
        for (face, id) in [(Face::Regular, "GR"), (Face::Bold, "GB")] {
            let mut chars = BTreeSet::new();
            for item in self.pages.iter().flatten() {
                if let Item::Text { face: f, text, .. } = item
                    && *f == face
                {
                    chars.extend(text.chars());
                }
            }
            if !chars.is_empty() {
                let cut = Cut::for_chars(face, &chars)?;
                fonts.push((UsedFont { face, id: FontId(id.into()), cut }, chars));
            }
        }
        Ok(fonts)
    }

    /// The font as printpdf needs it to write texts and widths. Its file is only a mark; the packed one is put in later.
    fn stand_in(&self, font: &UsedFont, chars: &BTreeSet<char>) -> printpdf::font::PdfFont {
        let (file, cut) = (self.faces.font(font.face), font.cut.get());
        let (mut ids, mut widths) = (BTreeMap::new(), BTreeMap::new());
        for &c in chars {
            if let (Some(id), Some(glyph)) = (cut.id(c), file.glyph(c)) {
                ids.insert(u32::from(c), id);
                widths.insert(id, glyph.advance);
            }
        }
        let metrics = FontMetrics { ascent: file.ascent, descent: file.descent };
        let mark = mark(font.face).to_vec();
        let mut parsed = ParsedFont::with_glyph_data(mark, 0, Some(cut.name.clone()), ids, widths, 1000, metrics);
        let [x_min, y_min, x_max, y_max] = file.bounds;
        let m = &mut parsed.pdf_font_metrics;
        (m.x_min, m.y_min, m.x_max, m.y_max, m.us_weight_class) = (x_min, y_min, x_max, y_max, file.weight);
        printpdf::font::PdfFont::new(parsed)
    }

    /// What printpdf is to write on one page, and which part of the tag tree each marked piece belongs to.
    fn ops(&mut self, page: usize, fonts: &[(UsedFont, BTreeSet<char>)]) -> (Vec<Op>, Vec<usize>) {
        let (height, items) = (self.size.height(), self.pages.get(page).map_or(&[][..], Vec::as_slice));
        let (mut ops, mut marked) = (Vec::with_capacity(items.len() * 6), Vec::new());
        let mut open: Option<Option<usize>> = None;
        let (mut font, mut thickness) = (None, None);
        for item in items {
            let node = match item {
                Item::Text { tag, .. } => tag.0,
                Item::Path { .. } => None,
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
                Item::Text { x, y, size, face, text, .. } => {
                    ops.push(Op::StartTextSection);
                    if font != Some((*face, *size))
                        && let Some((used, _)) = fonts.iter().find(|(f, _)| f.face == *face)
                    {
                        ops.push(Op::SetFont { font: PdfFontHandle::External(used.id.clone()), size: Pt(*size) });
                        font = Some((*face, *size));
                    }
                    ops.push(Op::SetTextCursor { pos: point(*x, height - y) });
                    ops.push(Op::ShowText { items: vec![TextItem::Text(text.clone())] });
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
            }
        }
        if open.is_some() {
            ops.push(Op::EndMarkedContent);
        }
        (ops, marked)
    }

    fn complete(
        &self,
        lo: &mut lopdf::Document,
        meta: &Meta<'_>,
        parents: &[Vec<usize>],
        fonts: &[(UsedFont, BTreeSet<char>)],
    ) -> Result<(), PaperError> {
        lo.version = "1.7".into();
        let id = Object::String(meta.id.to_vec(), StringFormat::Hexadecimal);
        lo.trailer.set("ID", Object::Array(vec![id.clone(), id]));
        if let Ok(info) = lo.trailer.get(b"Info").and_then(Object::as_reference)
            && let Ok(info) = lo.get_object_mut(info).and_then(Object::as_dict_mut)
        {
            for empty in [&b"GTS_PDFXVersion"[..], b"Identifier", b"Trapped", b"Subject", b"Keywords"] {
                info.remove(empty);
            }
        }
        for object in lo.objects.values_mut() {
            let Object::Stream(stream) = object else { continue };
            match fonts.iter().find(|(font, _)| stream.content == mark(font.face)) {
                Some((font, _)) => put_font(stream, font.cut.get()),
                None => {
                    let packed = deflate(&stream.content)?;
                    stream.dict.set("Filter", "FlateDecode");
                    stream.set_content(packed);
                }
            }
        }
        self.tree(lo, parents)
    }

    fn tree(&self, lo: &mut lopdf::Document, parents: &[Vec<usize>]) -> Result<(), PaperError> {
        let pages: Vec<ObjectId> = lo.get_pages().into_values().collect();
        let root = lo.new_object_id();
        let ids: Vec<ObjectId> = self.nodes.iter().map(|_| lo.new_object_id()).collect();
        let refer = |id: Option<&ObjectId>| id.map_or(Object::Null, |id| Object::Reference(*id));
        for (i, (node, id)) in self.nodes.iter().zip(&ids).enumerate() {
            let parent = if i == 0 { Object::Reference(root) } else { refer(ids.get(node.parent)) };
            lo.objects.insert(*id, Object::Dictionary(element(node, parent, &ids, &pages)));
        }
        let mut numbers = Vec::new();
        for (i, (marked, page)) in parents.iter().zip(&pages).enumerate() {
            numbers.push(Object::Integer(i as i64));
            numbers.push(Object::Array(marked.iter().map(|n| refer(ids.get(*n))).collect()));
            let dict = lo.get_object_mut(*page).and_then(Object::as_dict_mut).map_err(write)?;
            let sheet = vec![0.into(), 0.into(), real(self.size.width()), real(self.size.height())];
            dict.set("MediaBox", Object::Array(sheet));
            for unused in [&b"TrimBox"[..], b"CropBox", b"Annots"] {
                dict.remove(unused);
            }
            dict.set("StructParents", i as i64);
            dict.set("Tabs", "S");
        }
        let tree = dictionary! {
            "Type" => "StructTreeRoot",
            "K" => refer(ids.first()),
            "ParentTree" => dictionary! { "Nums" => numbers },
            "ParentTreeNextKey" => parents.len() as i64,
        };
        lo.objects.insert(root, Object::Dictionary(tree));
        let catalog = lo.catalog_mut().map_err(write)?;
        catalog.remove(b"PageLayout");
        catalog.remove(b"PageMode");
        catalog.set("Lang", Object::string_literal(LANGUAGE));
        catalog.set("MarkInfo", dictionary! { "Marked" => true });
        catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
        catalog.set("StructTreeRoot", Object::Reference(root));
        Ok(())
    }
}

/// One part of the tag tree. Pieces on the page where the part begins are named by number alone.
fn element(node: &Node, parent: Object, ids: &[ObjectId], pages: &[ObjectId]) -> Dictionary {
    let mut dict = dictionary! { "S" => node.role.name(), "P" => parent };
    let home = node.kids.iter().find_map(|kid| match kid {
        Kid::Marked { page, .. } => Some(*page),
        Kid::Node(_) => None,
    });
    if let Some(page) = home.and_then(|p| pages.get(p)) {
        dict.set("Pg", Object::Reference(*page));
    }
    let mut kids: Vec<Object> = node
        .kids
        .iter()
        .filter_map(|kid| match kid {
            Kid::Node(n) => ids.get(*n).map(|id| Object::Reference(*id)),
            Kid::Marked { page, mcid } if home == Some(*page) => Some(Object::Integer(*mcid as i64)),
            Kid::Marked { page, mcid } => pages.get(*page).map(|page| {
                let piece = dictionary! { "Type" => "MCR", "Pg" => Object::Reference(*page), "MCID" => *mcid as i64 };
                Object::Dictionary(piece)
            }),
        })
        .collect();
    match (kids.len(), kids.pop()) {
        (1, Some(only)) => dict.set("K", only),
        (_, Some(last)) => {
            kids.push(last);
            dict.set("K", Object::Array(kids));
        }
        (_, None) => {}
    }
    let scope = match node.role {
        Role::TH => Some("Column"),
        Role::RowTH => Some("Row"),
        _ => None,
    };
    if let Some(scope) = scope {
        dict.set("A", dictionary! { "O" => "Table", "Scope" => scope });
    }
    dict
}

/// Stands for the font file until the packed one is put in; begins like a TrueType file, so printpdf takes it for one.
fn mark(face: Face) -> [u8; 5] {
    [0, 1, 0, 0, if face == Face::Regular { 1 } else { 2 }]
}

fn put_font(stream: &mut Stream, cut: &Subset) {
    stream.dict.set("Length1", cut.length as i64);
    stream.dict.set("Filter", "FlateDecode");
    stream.set_content(cut.packed.clone());
}

/// A place on the page, to the hundredth of a point.
fn point(x: f32, y: f32) -> Point {
    Point { x: Pt(hundredth(x)), y: Pt(hundredth(y)) }
}

fn hundredth(v: f32) -> f32 {
    (v * 100.0).round() / 100.0
}

fn real(v: f32) -> Object {
    Object::Real(hundredth(v))
}

fn write(error: lopdf::Error) -> PaperError {
    PaperError::Write(error.to_string())
}
