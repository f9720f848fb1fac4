//! The whole book as one JSON file, written and read row by row, so that memory does not grow with the book.
//!
//! The file is described for other programs in `docs/book-json.md`; a test holds that page against the tables. The same
//! reader and writer move a book from one engine to the other.

mod empty;
mod fill;
mod order;
mod read;
mod secrets;
mod write;

pub use fill::{Filled, fill};
pub use order::by_reference;
pub use secrets::{HASHES, KEPT_BACK};
pub use write::{Asked, write};

use super::store::{AsDbError, StoreError};
use diesel::result::Error as DbError;

/// The name of the format, the first thing in a file.
pub const FORMAT: &str = "gambrel-book";
/// The version of the format, apart from that of the tables.
pub const VERSION: u64 = 1;

/// Why a whole book could not be written or read.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// A sentence for whoever asked.
    #[error("{0}")]
    Said(String),
    /// The database's own.
    #[error("the book could not be read or written: {0}")]
    Db(#[from] DbError),
    /// The book could not be opened, or its transaction not ended.
    #[error("{0}")]
    Store(StoreError),
}

impl From<StoreError> for Trouble {
    fn from(e: StoreError) -> Self {
        Self::Store(e)
    }
}

impl From<std::io::Error> for Trouble {
    fn from(e: std::io::Error) -> Self {
        Self::Said(format!("the file could not be written: {e}"))
    }
}

impl AsDbError for Trouble {
    fn as_db_error(&self) -> Option<&DbError> {
        match self {
            Self::Db(e) => Some(e),
            Self::Store(e) => e.as_db_error(),
            Self::Said(_) => None,
        }
    }
}

/// What stands in a file before its tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// The steps of the tables, in order.
    pub steps: Vec<String>,
    /// When it was made, as written.
    pub made_at: String,
    /// Whether hashes of passwords and links are in it.
    pub has_secrets: bool,
}
