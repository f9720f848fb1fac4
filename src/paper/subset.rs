//! Cuts a face down to the letters a document uses.
//!
//! Most papers need no more than ASCII and a few signs. For these one cut per face is made once per process and packed once,
//! because cutting and packing cost more than the rest of a page. Which cut a document gets depends on its own letters
//! alone, never on what was made before it, so the same document always comes out the same.

use super::PaperError;
use super::face::{Face, Font, faces};
use super::finish::deflate;
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
    /// The letter numbers in the cut.
    ids: BTreeMap<char, u16>,
}

impl Subset {
    fn cut(font: &Font, chars: &BTreeSet<char>) -> Result<Self, PaperError> {
        let mut remapper = subsetter::GlyphRemapper::new();
        let mut ids = BTreeMap::new();
        for &c in chars {
            if let Some(glyph) = font.glyph(c) {
                ids.insert(c, remapper.remap(glyph.id));
            }
        }
        let bytes = subsetter::subset(font.data, 0, &remapper).map_err(|e| PaperError::Font(e.to_string()))?;
        Ok(Self { name: format!("{}+{}", tag(chars), font.name), packed: deflate(&bytes)?, length: bytes.len(), ids })
    }

    /// The number of a letter in the cut.
    pub fn id(&self, c: char) -> Option<u16> {
        self.ids.get(&c).copied()
    }
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
        Ok(Self::Own(Subset::cut(faces()?.font(face), chars)?))
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
            Subset::cut(faces()?.font(face), &chars)
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
