//! A database for a while: made beside the book's, taken away when dropped.

use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::server::Server;
use crate::book::snapshot;
use std::sync::atomic::{AtomicU32, Ordering};

/// How the names of such databases go on after the book's own.
const MARK: &str = "_gambrel_copy_";
/// From this age on, in seconds, one that is still there was left by a program that was killed: an hour.
const LEFT_BEHIND: i64 = 3600;

/// A database for a while.
pub(super) struct Scratch {
    book: Server,
    here: Server,
    name: String,
    stays: bool,
}

impl Scratch {
    /// Makes one, empty.
    ///
    /// # Errors
    /// A sentence.
    pub(super) fn make(book: &Server, at: At) -> Result<Self, String> {
        static NEXT: AtomicU32 = AtomicU32::new(1);
        // Unlike those of another program that copies the same book at this moment.
        let (program, n) = (std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let name = format!("{}{}_{program}_{n}", beginning(&book.name()?), at.0 / 1000);
        let here = book.make_beside(&name)?;
        Ok(Self { book: book.clone(), here, name, stays: false })
    }

    /// Takes away what programs left that were killed in the middle of a copy.
    ///
    /// # Errors
    /// A sentence when the server cannot be asked.
    pub(super) fn sweep(book: &Server, at: At) -> Result<(), String> {
        let beginning = beginning(&book.name()?);
        for name in book.beginning(&beginning)? {
            let made = name.strip_prefix(&beginning).and_then(|r| r.split('_').next()).and_then(|s| s.parse().ok());
            if made.is_some_and(|made: i64| (at.0 / 1000).saturating_sub(made) > LEFT_BEHIND)
                && let Err(e) = book.drop_beside(&name)
            {
                tracing::warn!("{e}");
            }
        }
        Ok(())
    }

    /// Its server.
    pub(super) fn server(&self) -> &Server {
        &self.here
    }

    /// Its name.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// Opens it; its tables are as they are.
    ///
    /// # Errors
    /// A sentence.
    pub(super) fn open(&self) -> Result<DbConn, String> {
        snapshot::open_as_it_is(&self.here.place())
    }

    /// It stays when this is dropped.
    pub(super) fn keep(mut self) {
        self.stays = true;
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        if !self.stays
            && let Err(e) = self.book.drop_beside(&self.name)
        {
            tracing::warn!("{e}");
        }
    }
}

/// How the names of a book's databases for a while begin; a server takes 63 letters.
fn beginning(book: &str) -> String {
    let short: String = book.chars().filter(char::is_ascii).take(24).collect();
    format!("{short}{MARK}")
}
