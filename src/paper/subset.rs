//! Cuts a face down to the letters a document uses.
//!
//! Most papers need no more than ASCII and a few signs. For these one cut per face is made once per process and packed once,
//! because cutting and packing cost more than the rest of a page. Which cut a document gets depends on its own letters
//! alone, never on what was made before it, so the same document always comes out the same.

use super::PaperError;
use super::face::{Face, Font, faces};
use super::file::{pack, pack_well};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// Signs of the common cut beside ASCII.
const COMMON_SIGNS: &str = "\u{a0}–—‘’“”…−×÷½¼¾·•";

/// A cut face, packed for a document.
pub(super) struct Subset {
    /// `ABCDEF+GambrelSerif-Bold`: the tag tells different cuts apart (ISO 32000-1, 9.6.4).
    pub name: String,
    /// The deflated font file.
    pub packed: Vec<u8>,
    /// Its length before deflating.
    pub length: usize,
    /// The deflated table that says which character each letter number stands for, so that texts can be searched.
    pub to_unicode: Vec<u8>,
    /// What its font descriptor says beside where the file is.
    pub descriptor: String,
    /// What its font dictionary says beside the descriptor: kind and widths.
    pub letters: String,
    /// The letter numbers in the cut.
    ids: BTreeMap<char, u16>,
}

/// [`pack`] or [`pack_well`].
type Packer = fn(&[u8]) -> Result<Vec<u8>, PaperError>;

impl Subset {
    fn cut(font: &Font, chars: &BTreeSet<char>, pack: Packer) -> Result<Self, PaperError> {
        let mut remapper = subsetter::GlyphRemapper::new();
        let mut ids = BTreeMap::new();
        for &c in chars {
            if let Some(glyph) = font.glyph(c) {
                ids.insert(c, remapper.remap(glyph.id));
            }
        }
        let bytes = subsetter::subset(font.data, 0, &remapper).map_err(|e| PaperError::Font(e.to_string()))?;
        let name = format!("{}+{}", tag(chars), font.name);
        Ok(Self {
            packed: pack(&bytes)?,
            length: bytes.len(),
            to_unicode: pack(to_unicode(&ids).as_bytes())?,
            descriptor: descriptor(font, &name),
            letters: letters(font, &name, &ids),
            name,
            ids,
        })
    }

    /// The number of a letter in the cut.
    pub fn id(&self, c: char) -> Option<u16> {
        self.ids.get(&c).copied()
    }
}

fn descriptor(font: &Font, name: &str) -> String {
    let [left, bottom, right, top] = font.bounds;
    // the thickness of a stem stands in no font table; the usual estimate from the weight
    let stem = 50 + (u32::from(font.weight) * u32::from(font.weight)) / (65 * 65);
    format!(
        "/Type /FontDescriptor /FontName /{name} /Flags 6 /FontBBox [{left} {bottom} {right} {top}] /ItalicAngle 0 \
         /Ascent {} /Descent {} /CapHeight {} /StemV {stem}",
        font.ascent, font.descent, font.capitals
    )
}

fn letters(font: &Font, name: &str, ids: &BTreeMap<char, u16>) -> String {
    let widths: BTreeMap<u16, u16> = ids.iter().filter_map(|(c, id)| Some((*id, font.glyph(*c)?.advance))).collect();
    // the numbers run from 1 without a gap
    let list: Vec<String> = widths.into_values().map(|w| w.to_string()).collect();
    format!(
        "/Type /Font /Subtype /CIDFontType2 /BaseFont /{name} /CIDToGIDMap /Identity /DW 1000 /W [1 [{}]] \
         /CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >>",
        list.join(" ")
    )
}

/// The CMap of a cut (ISO 32000-1, 9.10.3). All characters of the faces are in the basic plane.
fn to_unicode(ids: &BTreeMap<char, u16>) -> String {
    let mut pairs: Vec<(u16, char)> = ids.iter().map(|(c, id)| (*id, *c)).collect();
    pairs.sort_unstable();
    pairs.dedup_by_key(|(id, _)| *id); // one letter may serve two characters: a space and a no-break space
    let mut out = String::from(
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n\
         /CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n\
         /CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n\
         1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n",
    );
    for part in pairs.chunks(100) {
        out.push_str(&format!("{} beginbfchar\n", part.len()));
        for (id, c) in part {
            out.push_str(&format!("<{id:04X}> <{:04X}>\n", u32::from(*c)));
        }
        out.push_str("endbfchar\n");
    }
    out.push_str("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n");
    out
}

/// Six capital letters that depend on the letters in the cut (64-bit FNV-1a).
fn tag(chars: &BTreeSet<char>) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for &c in chars {
        hash = (hash ^ u64::from(u32::from(c))).wrapping_mul(0x0100_0000_01b3);
    }
    (0..6).map(|i| char::from(b'A' + ((hash >> (i * 8)) % 26) as u8)).collect()
}

/// Either the common cut or one of the document's own.
pub(super) enum Cut {
    /// Shared by all documents that need no more.
    Common(&'static Subset),
    /// Made for one document.
    Own(Subset),
}

impl Cut {
    /// The cut for a document that uses `chars` of a face.
    pub fn for_chars(face: Face, chars: &BTreeSet<char>) -> Result<Self, PaperError> {
        let common = common(face)?;
        if chars.iter().all(|&c| common.id(c).is_some()) {
            return Ok(Self::Common(common));
        }
        Ok(Self::Own(Subset::cut(faces()?.font(face), chars, pack)?))
    }

    /// The cut itself.
    pub fn get(&self) -> &Subset {
        match self {
            Self::Common(subset) => subset,
            Self::Own(subset) => subset,
        }
    }
}

fn common(face: Face) -> Result<&'static Subset, PaperError> {
    static REGULAR: OnceLock<Result<Subset, PaperError>> = OnceLock::new();
    static BOLD: OnceLock<Result<Subset, PaperError>> = OnceLock::new();
    let place = match face {
        Face::Regular => &REGULAR,
        Face::Bold => &BOLD,
    };
    place
        .get_or_init(|| {
            let chars: BTreeSet<char> = (' '..='~').chain(COMMON_SIGNS.chars()).collect();
            Subset::cut(faces()?.font(face), &chars, pack_well)
        })
        .as_ref()
        .map_err(Clone::clone)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_documents_own_letters_decide_the_cut() {
        let set = |s: &str| s.chars().collect::<BTreeSet<char>>();
        let plain = Cut::for_chars(Face::Bold, &set("Balance due $1,481.18")).unwrap();
        assert!(matches!(plain, Cut::Common(_)));
        let own = Cut::for_chars(Face::Bold, &set("Đặng")).unwrap();
        assert!(matches!(own, Cut::Own(_)));
        assert_eq!(own.get().id('x'), None);
        assert!(own.get().id('ặ').is_some() && own.get().packed.len() < plain.get().packed.len());
        assert_eq!(own.get().packed, Cut::for_chars(Face::Bold, &set("Đặng")).unwrap().get().packed);
    }
}
