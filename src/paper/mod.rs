//! Papers: invoices, receipts, credit notes and letters as PDF.
//!
//! | file | what is in it |
//! |---|---|
//! | `confirmation.rs`, `invoice.rs`, `receipt.rs`, `credit_note.rs`, `deposit_slip.rs`, `letter.rs`, `packet.rs`, `pickup_list.rs` | one paper each: what it holds and how it is laid out |
//! | `parts.rs` | what they share: letterhead, facts, lines, sums, footer |
//! | `flow.rs` | text and tables that run over pages |
//! | `page.rs` | where things stand, and the tag tree |
//! | `face.rs`, `subset.rs` | the two faces: widths, line breaks, letters a document needs |
//! | `qr.rs` | squares for a phone's camera |
//! | `finish.rs`, `file.rs` | the PDF file |
//!
//! A paper is a plain struct in which everything is already worded. It is stored as JSON when it is issued, and that JSON is
//! the contract: unknown fields and unknown layouts are refused, and the same struct gives the same bytes, in this run and in
//! the next. A change of layout gets a new number, so that papers already issued keep their look. The bytes also rest on the
//! fonts and on the libraries that write and pack; a test keeps their sum, so that no update changes them unseen.
//!
//! To add a paper: a struct with `layout`, `made` and `head`, a `pdf` that begins with `known_layout` and ends with `seal`.

pub mod bill_of_sale;
mod cents;
pub mod confirmation;
pub mod credit_note;
pub mod deposit_slip;
pub mod face;
mod file;
mod finish;
pub mod flow;
pub mod invoice;
pub mod letter;
pub mod packet;
pub mod packet_changes;
pub mod page;
pub mod parts;
pub mod pickup_list;
pub mod qr;
pub mod receipt;
pub mod refund_slip;
pub mod statement;
mod subset;

pub use face::unprintable;
pub use finish::Meta;
pub use page::PaperSize;
pub use parts::{Fact, Letterhead, Line, Section, Sum};

use serde::Serialize;
use sha2::{Digest, Sha256};

/// The layout of papers issued now.
pub const LAYOUT: u16 = 1;

/// Why a paper could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// The text fills more than 100 pages.
    #[error("this paper would have more than 100 pages: shorten its texts")]
    TooLong,
    /// The paper was issued by a newer program.
    #[error(
        "this paper has layout {0}, which this version does not know: use the version that issued it, or a newer one"
    )]
    UnknownLayout(u16),
    /// The built-in fonts are damaged.
    #[error("the built-in fonts cannot be read: {0}")]
    Font(String),
    /// The file could not be written.
    #[error("the PDF cannot be written: {0}")]
    Write(String),
}

/// Refuses papers laid out by rules this version does not have.
fn known_layout(layout: u16) -> Result<(), PaperError> {
    if layout == LAYOUT { Ok(()) } else { Err(PaperError::UnknownLayout(layout)) }
}

/// What a finished paper says about itself.
struct Sealed<'a> {
    title: &'a str,
    farm: &'a str,
    made: i64,
}

/// Writes a laid-out paper. Its id is taken from all it holds (the first half of a SHA-256), so no two papers share one.
fn seal<P: Serialize>(flow: flow::Flow, paper: &P, about: &Sealed<'_>) -> Result<Vec<u8>, PaperError> {
    let frozen = serde_json::to_vec(paper).map_err(|e| PaperError::Write(e.to_string()))?;
    let (mut hash, mut id) = (Sha256::new(), [0; 16]);
    hash.update(about.title); // begins with the kind of paper
    hash.update(&frozen);
    for (to, from) in id.iter_mut().zip(hash.finalize()) {
        *to = from;
    }
    if !flow.doc.missing.is_empty() {
        tracing::warn!(title = about.title, characters = ?flow.doc.missing, "characters the fonts lack were printed as “?”");
    }
    flow.doc.finish(&Meta { title: about.title, author: about.farm, made: about.made, id })
}
