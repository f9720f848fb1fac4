//! The two faces of the papers: how wide a text is, where it breaks, and what they cannot print.

use super::PaperError;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;
use unicode_normalization::UnicodeNormalization;

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// For reading.
    Regular,
    /// For headings and sums.
    Bold,
}

/// One letter of a face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glyph {
    /// Its number in the font file.
    pub id: u16,
    /// Its width in thousandths of the type size.
    pub advance: u16,
}

/// One font file, read once.
pub(super) struct Font {
    /// The font file.
    pub data: &'static [u8],
    /// The name written into the documents.
    pub name: &'static str,
    /// `usWeightClass`: 400 or 700.
    pub weight: u16,
    /// Height above and depth below the baseline, in thousandths.
    pub ascent: i16,
    /// See `ascent`; negative.
    pub descent: i16,
    /// Height of the capital letters, in thousandths.
    pub capitals: i16,
    /// The box that holds every letter: left, bottom, right, top.
    pub bounds: [i16; 4],
    low: Vec<Option<Glyph>>,
    high: BTreeMap<char, Glyph>,
}

/// Code points kept in a plain list, for speed: all of Latin-1, Latin Extended-A and -B.
const LOW: usize = 0x250;

impl Font {
    fn read(data: &'static [u8], name: &'static str, weight: u16) -> Result<Self, PaperError> {
        let face = ttf_parser::Face::parse(data, 0).map_err(|e| PaperError::Font(e.to_string()))?;
        if face.units_per_em() != 1000 {
            return Err(PaperError::Font(format!("{name} is not drawn on 1000 units")));
        }
        let (mut low, mut high) = (vec![None; LOW], BTreeMap::new());
        let mut points = Vec::new();
        for table in face.tables().cmap.iter().flat_map(|t| t.subtables) {
            if table.is_unicode() {
                table.codepoints(|c| points.push(c));
            }
        }
        for c in points.into_iter().filter_map(char::from_u32) {
            let Some(id) = face.glyph_index(c) else { continue };
            let glyph = Glyph { id: id.0, advance: face.glyph_hor_advance(id).unwrap_or(0) };
            match low.get_mut(c as usize) {
                Some(place) => *place = Some(glyph),
                None => drop(high.insert(c, glyph)),
            }
        }
        let b = face.global_bounding_box();
        Ok(Self {
            data,
            name,
            weight,
            ascent: face.ascender(),
            descent: face.descender(),
            capitals: face.capital_height().unwrap_or(714),
            bounds: [b.x_min, b.y_min, b.x_max, b.y_max],
            low,
            high,
        })
    }

    /// The letter for a character, if the face has one.
    pub fn glyph(&self, c: char) -> Option<Glyph> {
        match self.low.get(c as usize) {
            Some(place) => *place,
            None => self.high.get(&c).copied(),
        }
    }
}

/// Both faces.
pub struct Faces {
    regular: Font,
    bold: Font,
}

/// The faces, read on first use and kept.
///
/// # Errors
/// [`PaperError::Font`] when the built-in fonts are damaged.
pub fn faces() -> Result<&'static Faces, PaperError> {
    static FACES: OnceLock<Result<Faces, PaperError>> = OnceLock::new();
    FACES
        .get_or_init(|| {
            Ok(Faces {
                regular: Font::read(
                    include_bytes!("../../assets/fonts/GambrelSerif-Regular.ttf"),
                    "GambrelSerif-Regular",
                    400,
                )?,
                bold: Font::read(include_bytes!("../../assets/fonts/GambrelSerif-Bold.ttf"), "GambrelSerif-Bold", 700)?,
            })
        })
        .as_ref()
        .map_err(Clone::clone)
}

/// Characters that take no room and carry no meaning on paper: soft hyphen, zero-width marks, byte order mark.
const INVISIBLE: [char; 8] =
    ['\u{ad}', '\u{200b}', '\u{200c}', '\u{200d}', '\u{200e}', '\u{200f}', '\u{2060}', '\u{feff}'];

impl Faces {
    pub(super) fn font(&self, face: Face) -> &Font {
        match face {
            Face::Regular => &self.regular,
            Face::Bold => &self.bold,
        }
    }

    /// Makes a text printable: composed (NFC), tabs as spaces, one kind of line end, invisible marks dropped, and `?` for
    /// every character the faces lack, which is also added to `missing`.
    pub fn fit<'t>(&self, text: &'t str, missing: &mut BTreeSet<char>) -> Cow<'t, str> {
        if text.bytes().all(|b| matches!(b, b'\n' | b' '..=b'~')) {
            return Cow::Borrowed(text);
        }
        let mut out = String::with_capacity(text.len());
        let mut chars = text.nfc().peekable();
        while let Some(c) = chars.next() {
            match c {
                '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' => out.push('\n'),
                '\r' => {
                    chars.next_if_eq(&'\n');
                    out.push('\n');
                }
                '\t' => out.push(' '),
                c if INVISIBLE.contains(&c) => {}
                c if self.regular.glyph(c).is_some() && self.bold.glyph(c).is_some() => out.push(c),
                c => {
                    missing.insert(c);
                    out.push('?');
                }
            }
        }
        Cow::Owned(out)
    }

    /// The width of a fitted text in points, at `size` points. Exact: the same whole thousandths stand in the document.
    pub fn width(&self, face: Face, text: &str, size: f32) -> f32 {
        let font = self.font(face);
        let sum: u32 = text.chars().filter_map(|c| font.glyph(c)).map(|g| u32::from(g.advance)).sum();
        sum as f32 * size / 1000.0
    }

    /// Breaks a fitted text into lines at most `max` points wide: at line ends and at spaces; a word wider than that is
    /// broken between letters. Nothing but spaces is lost, and a line holds at least one letter however narrow it is.
    pub fn wrap(&self, face: Face, text: &str, size: f32, max: f32) -> Vec<String> {
        let space = self.width(face, " ", size);
        let mut lines = Vec::new();
        for paragraph in text.split('\n') {
            let (mut line, mut filled) = (String::new(), 0.0);
            for word in paragraph.split(' ').filter(|w| !w.is_empty()) {
                let width = self.width(face, word, size);
                if !line.is_empty() && filled + space + width > max {
                    lines.push(std::mem::take(&mut line));
                    filled = 0.0;
                }
                if width > max {
                    for c in word.chars() {
                        let step = self.width(face, c.encode_utf8(&mut [0; 4]), size);
                        if !line.is_empty() && filled + step > max {
                            lines.push(std::mem::take(&mut line));
                            filled = 0.0;
                        }
                        line.push(c);
                        filled += step;
                    }
                    continue;
                }
                if !line.is_empty() {
                    line.push(' ');
                    filled += space;
                }
                line.push_str(word);
                filled += width;
            }
            lines.push(line);
        }
        lines
    }

    /// Shortens a fitted text with `…` until it is at most `max` points wide. For footers only.
    pub fn shorten<'t>(&self, face: Face, text: &'t str, size: f32, max: f32) -> Cow<'t, str> {
        if self.width(face, text, size) <= max {
            return Cow::Borrowed(text);
        }
        let mut short: String = text.to_owned();
        while short.pop().is_some() {
            if self.width(face, &short, size) + self.width(face, "…", size) <= max {
                break;
            }
        }
        Cow::Owned(format!("{}…", short.trim_end()))
    }
}

/// Characters of a text that the faces cannot print; they would come out as `?`. Empty for any Latin-script name.
pub fn unprintable(text: &str) -> Vec<char> {
    let mut missing = BTreeSet::new();
    if let Ok(faces) = faces() {
        faces.fit(text, &mut missing);
    }
    missing.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn figures_and_signs_line_up() {
        let faces = faces().unwrap();
        for face in [Face::Regular, Face::Bold] {
            let one = faces.font(face).glyph('0').unwrap().advance;
            for c in "0123456789−+×".chars() {
                assert_eq!(faces.font(face).glyph(c).unwrap().advance, one, "{c} in {face:?}");
            }
        }
    }

    #[test]
    fn every_latin_name_can_be_printed() {
        let names = "Núñez Łukasz Þóra Nguyễn Đặng Őrség Žižkov Țepeș Ștefan Kaʻahumanu Ðuro Æsa ẞ İğdır Ľubomír Ŵyn";
        assert_eq!(unprintable(names), Vec::<char>::new());
        let signs = "– — ‘ ’ “ ” „ • … − × ½ ¼ ¾ → € ₤ ✓ ÷ · № \u{2009}\u{a0}\u{202f}⅓";
        assert_eq!(unprintable(signs), Vec::<char>::new());
        let vietnamese: String = ('\u{1e00}'..='\u{1eff}').collect();
        assert_eq!(unprintable(&vietnamese), Vec::<char>::new());
    }

    #[test]
    fn what_cannot_be_printed_is_said() {
        let (faces, mut missing) = (faces().unwrap(), BTreeSet::new());
        assert_eq!(faces.fit("Beef 牛, \u{1}half\u{ad}", &mut missing), "Beef ?, ?half");
        assert_eq!(missing.into_iter().collect::<Vec<_>>(), ['\u{1}', '牛']);
        assert_eq!(unprintable("x\u{304}"), ['\u{304}']);
    }

    #[test]
    fn letters_typed_in_pieces_are_composed() {
        let (faces, mut missing) = (faces().unwrap(), BTreeSet::new());
        assert_eq!(faces.fit("Nun\u{303}ez\r\nNguye\u{302}\u{303}n\tA", &mut missing), "Nuñez\nNguyễn A");
        assert!(missing.is_empty());
    }

    #[test]
    fn a_short_name_is_not_shortened() {
        let faces = faces().unwrap();
        assert_eq!(faces.shorten(Face::Regular, "Nettle Bend Farm", 8.5, 200.0), "Nettle Bend Farm");
        let short = faces.shorten(Face::Regular, "The Very Long Name of a Farm in the Hills", 8.5, 80.0);
        assert!(short.ends_with('…') && faces.width(Face::Regular, &short, 8.5) <= 80.0, "{short}");
    }

    proptest! {
        #[test]
        fn wrapping_loses_nothing_but_spaces(text in "[ -~\n\t¡-ɏḀ-ỿ牛–…\u{301}]{0,300}", size in 6_u8..30, max in 1_u16..600) {
            let (faces, mut missing) = (faces().unwrap(), BTreeSet::new());
            let fitted = faces.fit(&text, &mut missing);
            let (size, max) = (f32::from(size), f32::from(max));
            let lines = faces.wrap(Face::Regular, &fitted, size, max);
            let bare = |s: &str| s.chars().filter(|c| !matches!(c, ' ' | '\n')).collect::<String>();
            prop_assert_eq!(bare(&lines.concat()), bare(&fitted));
            for line in &lines {
                let fits = faces.width(Face::Regular, line, size) <= max + 0.01;
                prop_assert!(fits || line.chars().count() == 1, "too wide: {:?}", line);
                prop_assert!(!line.contains('\n') && !line.starts_with(' ') && !line.ends_with(' '));
            }
            let words = |s: &str| s.split([' ', '\n']).filter(|w| !w.is_empty()).map(str::to_owned).collect::<Vec<_>>();
            if words(&fitted).iter().all(|w| faces.width(Face::Regular, w, size) <= max) {
                prop_assert_eq!(words(&lines.join(" ")), words(&fitted));
            }
        }
    }
}
