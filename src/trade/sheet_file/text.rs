//! The text of a file: which letters its bytes mean.

use super::{Fault, MOST_BYTES};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// How a file's letters were written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// UTF-8, with its mark or without.
    Utf8,
    /// UTF-16, either order of bytes.
    Utf16,
    /// Windows-1252, which old programs in the Americas and western Europe write.
    Windows1252,
}

/// Files that are no text, by how they begin, and what to do with them.
const OTHER_KINDS: &[(&[u8], &str)] = &[
    (
        b"PK\x03\x04",
        "This is a spreadsheet (or a zip file), not CSV. Open it in the spreadsheet program and save it as CSV.",
    ),
    (
        b"\xD0\xCF\x11\xE0",
        "This is a spreadsheet in an old form, not CSV. Open it in the spreadsheet program and save it as CSV.",
    ),
    (b"%PDF", "This is a PDF, not CSV. Ask for the file the PDF was made from."),
    (b"\x1F\x8B", "This file is packed. Unpack it and send the CSV file inside."),
];

/// The text of a file, its lines ended by line feeds, without control characters.
///
/// Without a mark: UTF-16 where every second byte of the beginning is empty; UTF-8 where all of it is UTF-8, which hardly ever
/// happens by chance; else Windows-1252. No guess is made among the other one-byte codes: they differ in accented letters only,
/// and figures and separators are the same in all of them.
///
/// # Errors
/// A [`Fault`] when it is empty, larger than 5 MB, or no text.
pub fn decode(bytes: &[u8]) -> Result<(String, Written), Fault> {
    if bytes.len() > MOST_BYTES {
        let mb = MOST_BYTES / 1024 / 1024;
        return Err(Fault::whole(format!(
            "The file has more than {mb} MB. Take out what is not needed, or send it in parts."
        )));
    }
    if let Some((_, says)) = OTHER_KINDS.iter().find(|(begin, _)| bytes.starts_with(begin)) {
        return Err(Fault::whole(*says));
    }
    let (encoding, rest) = match Encoding::for_bom(bytes) {
        Some((encoding, mark)) => (encoding, bytes.get(mark..).unwrap_or_default()),
        None => (guess(bytes), bytes),
    };
    let no_text = || Fault::whole("This file is no text. Save it as CSV (UTF-8) and send it again.");
    let Some(text) = encoding.decode_without_bom_handling_and_without_replacement(rest) else { return Err(no_text()) };
    if text.contains('\0') {
        return Err(no_text());
    }
    let text = text.replace("\r\n", "\n").replace(['\r', '\u{2028}'], "\n");
    let text: String = text.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).collect();
    if text.trim().is_empty() {
        return Err(Fault::whole("The file is empty. Choose the file with the lines in it."));
    }
    let written = match encoding {
        e if e == UTF_8 => Written::Utf8,
        e if e == WINDOWS_1252 => Written::Windows1252,
        _ => Written::Utf16,
    };
    Ok((text, written))
}

fn guess(bytes: &[u8]) -> &'static Encoding {
    let beginning = bytes.get(..bytes.len().min(4_096)).unwrap_or_default();
    let empty = |odd: usize| beginning.iter().enumerate().filter(|(n, b)| n % 2 == odd && **b == 0).count();
    let many = beginning.len() / 4;
    if many > 0 && empty(1) > many && empty(0) == 0 {
        UTF_16LE
    } else if many > 0 && empty(0) > many && empty(1) == 0 {
        UTF_16BE
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else {
        WINDOWS_1252
    }
}
