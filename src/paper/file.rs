//! The frame of a PDF file (ISO 32000-1): numbered objects, packed into one object stream (7.5.7), and the cross-reference
//! stream (7.5.8) that says where each one is.
//!
//! printpdf writes what is on the pages. It has no words for tags, language and packed fonts, and its own way of writing the
//! frame takes longer than all the rest together, so the frame is written here.

use super::PaperError;
use flate2::write::ZlibEncoder;
use flate2::{Compress, Compression, FlushCompress, Status};
use std::borrow::Cow;
use std::cell::RefCell;
use std::fmt::Write as _;
use std::io::Write as _;

/// The number of an object.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Id(usize);

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} 0 R", self.0)
    }
}

enum Body<'a> {
    /// Promised, not written yet.
    Open,
    /// Anything but a stream.
    Plain(String),
    /// A packed stream with what its dictionary says beside length and filter.
    Stream(Cow<'a, str>, Cow<'a, [u8]>),
}

/// A file being put together.
pub(super) struct File<'a> {
    objects: Vec<Body<'a>>,
}

impl<'a> File<'a> {
    pub fn new() -> Self {
        Self { objects: Vec::with_capacity(128) }
    }

    /// Promises an object, so that others can name it.
    pub fn promise(&mut self) -> Id {
        self.objects.push(Body::Open);
        Id(self.objects.len())
    }

    /// Writes a promised object that is no stream.
    pub fn keep(&mut self, id: Id, text: String) {
        if let Some(place) = self.objects.get_mut(id.0.wrapping_sub(1)) {
            *place = Body::Plain(text);
        }
    }

    /// Adds an object that is no stream.
    pub fn add(&mut self, text: String) -> Id {
        let id = self.promise();
        self.keep(id, text);
        id
    }

    /// Adds a stream that [`pack`] has packed.
    pub fn add_stream(&mut self, dict: impl Into<Cow<'a, str>>, packed: impl Into<Cow<'a, [u8]>>) -> Id {
        let id = self.promise();
        if let Some(place) = self.objects.get_mut(id.0.wrapping_sub(1)) {
            *place = Body::Stream(dict.into(), packed.into());
        }
        id
    }

    /// The file. `trailer` names the root, the information and the id.
    ///
    /// # Errors
    /// [`PaperError::Write`] when an object was promised and never written.
    pub fn finish(self, trailer: &str) -> Result<Vec<u8>, PaperError> {
        let mut out = Vec::with_capacity(40 * 1024);
        out.extend_from_slice(b"%PDF-1.7\n%\xBB\xAD\xC0\xDE\n"); // the second line tells that the file is not text
        let count = self.objects.len();
        let (container, index) = (count + 1, count + 2);
        let mut places = Vec::with_capacity((count + 3) * ENTRY);
        place(&mut places, 0, 0, 255); // object 0 is always free
        let (mut offsets, mut texts, mut packed) = (String::new(), String::new(), 0_usize);
        for (number, body) in (1..).zip(&self.objects) {
            match body {
                Body::Open => return Err(PaperError::Write(format!("object {number} is missing"))),
                Body::Plain(text) => {
                    let _ = write!(offsets, "{number} {} ", texts.len());
                    place(&mut places, 2, container, packed);
                    texts.push_str(text);
                    texts.push('\n');
                    packed += 1;
                }
                Body::Stream(dict, bytes) => {
                    place(&mut places, 1, out.len(), 0);
                    stream(&mut out, number, dict, bytes)?;
                }
            }
        }
        place(&mut places, 1, out.len(), 0);
        let dict = format!("/Type /ObjStm /N {packed} /First {}", offsets.len());
        stream(&mut out, container, &dict, &pack((offsets + &texts).as_bytes())?)?;
        let start = out.len();
        place(&mut places, 1, start, 0);
        let dict = format!("/Type /XRef /Size {} /W [1 3 2] {trailer}", index + 1);
        plain_stream(&mut out, index, &dict, &places)?;
        write!(out, "startxref\n{start}\n%%EOF").map_err(failed)?;
        Ok(out)
    }
}

/// Bytes of an entry of the cross-reference stream: kind, then offset or container, then place in the container.
const ENTRY: usize = 6;

fn place(places: &mut Vec<u8>, kind: u8, at: usize, within: usize) {
    let at = (at as u32).to_be_bytes(); // three bytes reach to 16 MB, far beyond a hundred pages
    places.push(kind);
    places.extend_from_slice(at.get(1..).unwrap_or_default());
    places.extend_from_slice(&(within as u16).to_be_bytes());
}

fn stream(out: &mut Vec<u8>, number: usize, dict: &str, packed: &[u8]) -> Result<(), PaperError> {
    plain_stream(out, number, &format!("{dict} /Filter /FlateDecode"), packed)
}

fn plain_stream(out: &mut Vec<u8>, number: usize, dict: &str, bytes: &[u8]) -> Result<(), PaperError> {
    write!(out, "{number} 0 obj\n<< {dict} /Length {} >>\nstream\n", bytes.len()).map_err(failed)?;
    out.extend_from_slice(bytes);
    out.extend_from_slice(b"\nendstream\nendobj\n");
    Ok(())
}

fn failed(error: std::io::Error) -> PaperError {
    PaperError::Write(error.to_string())
}

/// Packs what is written once: on a page of text a tenth larger than [`pack_well`] makes it, in a third of the time. Each
/// thread keeps one packer, because setting one up costs as much as packing a page.
pub(super) fn pack(bytes: &[u8]) -> Result<Vec<u8>, PaperError> {
    thread_local! {
        static PACKER: RefCell<Compress> = RefCell::new(Compress::new(Compression::new(1), true));
    }
    let packed = PACKER.with_borrow_mut(|packer| {
        packer.reset();
        let mut out = Vec::with_capacity(bytes.len() / 2 + 64);
        loop {
            let rest = bytes.get(packer.total_in() as usize..).unwrap_or_default();
            match packer.compress_vec(rest, &mut out, FlushCompress::Finish) {
                Ok(Status::StreamEnd) => return Ok(out),
                Ok(_) => out.reserve(bytes.len() / 2 + 64),
                Err(e) => return Err(e),
            }
        }
    });
    packed.map_err(|e| PaperError::Write(e.to_string()))
}

/// Packs what is kept and used again.
pub(super) fn pack_well(bytes: &[u8]) -> Result<Vec<u8>, PaperError> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).and_then(|()| encoder.finish()).map_err(failed)
}

/// A text as PDF has it outside of pages: plain where it is ASCII, else UTF-16 in hexadecimal (7.9.2.2).
pub(super) fn quoted(text: &str) -> String {
    if text.bytes().all(|b| matches!(b, b' '..=b'~') && !matches!(b, b'(' | b')' | b'\\')) {
        return format!("({text})");
    }
    let mut out = String::from("<FEFF");
    for unit in text.encode_utf16() {
        let _ = write!(out, "{unit:04X}");
    }
    out.push('>');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_cannot_break_out_of_their_quotes() {
        assert_eq!(quoted("Invoice 2027-041"), "(Invoice 2027-041)");
        assert_eq!(quoted("a)b"), "<FEFF006100290062>");
        assert_eq!(quoted("ñ\n"), "<FEFF00F1000A>");
    }

    #[test]
    fn packing_leaves_no_trace_on_what_is_packed_next() {
        use std::io::Read;
        let first = pack(&b"Half beef, by hanging weight. ".repeat(200)).unwrap();
        let noise: Vec<u8> = (0..200_000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
        let packed = pack(&noise).unwrap();
        assert_eq!(first, pack(&b"Half beef, by hanging weight. ".repeat(200)).unwrap());
        let mut back = Vec::new();
        flate2::read::ZlibDecoder::new(packed.as_slice()).read_to_end(&mut back).unwrap();
        assert!(back == noise);
    }

    #[test]
    fn a_promise_must_be_kept() {
        let mut file = File::new();
        file.promise();
        assert!(file.finish("").is_err());
    }
}
