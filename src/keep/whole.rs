//! The whole book into one JSON file and back (`gambrel export`, `gambrel import`).

use super::verify::first_fault;
use crate::actions::check_book::check_book;
use crate::book::at::At;
use crate::book::content::{self, Sum};
use crate::book::migrate;
use crate::book::store::{Store, Tx};
use crate::book::whole::{self, Asked, Filled, Trouble};
use std::fs::{self, File};
use std::io::{BufWriter, Read, Write};
use std::path::Path;

/// What went into a file, or came out of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// What each table holds.
    pub sums: Vec<Sum>,
    /// How many rules of the book hold in it; none were looked at when it was only written.
    pub rules: usize,
    /// The steps that brought an older book up to date.
    pub steps: Vec<String>,
    /// Whether hashes of passwords and links are in it.
    pub has_secrets: bool,
}

impl Done {
    /// All rows.
    pub fn rows(&self) -> u64 {
        self.sums.iter().map(|s| s.rows).sum()
    }
}

/// Writes the whole book, in one snapshot.
///
/// # Errors
/// A sentence.
pub fn write(store: &Store, at: At, with_secrets: bool, out: &mut dyn Write) -> Result<Done, String> {
    let asked = Asked { at, with_secrets };
    let sums = store.read(|c| whole::write(c, asked, out)).map_err(|e| e.to_string())?;
    Ok(Done { sums, rules: 0, steps: Vec::new(), has_secrets: with_secrets })
}

/// Writes the whole book into a file that is not there yet, whole or not at all, readable by its owner only.
///
/// # Errors
/// A sentence.
pub fn export(store: &Store, file: &Path, at: At, with_secrets: bool) -> Result<Done, String> {
    if file.exists() {
        return Err(format!("{} is there already and is not written over; name another file", file.display()));
    }
    let mut part = file.as_os_str().to_os_string();
    part.push(".part");
    let part = Path::new(&part);
    let failed = |e: std::io::Error| format!("{} cannot be written: {e}", file.display());
    let _ = fs::remove_file(part);
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    let mut out = BufWriter::with_capacity(1 << 16, options.open(part).map_err(failed)?);
    let outcome = write(store, at, with_secrets, &mut out).and_then(|done| {
        out.flush().and_then(|()| out.get_ref().sync_all()).and_then(|()| fs::rename(part, file)).map_err(failed)?;
        super::folder::sync_folder(file);
        Ok(done)
    });
    if outcome.is_err() {
        let _ = fs::remove_file(part);
    }
    outcome
}

/// Fills an empty book from a file that was written by [`export`], brings its tables up to date, and checks every rule, all in one
/// transaction: when anything is wrong the book stays empty.
///
/// # Errors
/// A sentence.
pub fn import(store: &Store, file: &Path) -> Result<Done, String> {
    let open = || File::open(file).map_err(|e| Trouble::Said(format!("{} cannot be read: {e}", file.display())));
    store.write(|tx| read(tx, open()?)).map_err(|e| e.to_string())
}

/// The same inside a transaction.
///
/// # Errors
/// Those of the file and of the book; a rule that does not hold.
pub(super) fn read(tx: &mut Tx, from: impl Read) -> Result<Done, Trouble> {
    let Filled { head, .. } = whole::fill(tx, from)?;
    let (_, steps) = migrate::pending(tx.conn()).map_err(Trouble::Said)?;
    migrate::migrate(tx.conn()).map_err(Trouble::Said)?;
    let all = check_book(tx.conn()).map_err(|e| Trouble::Said(e.to_string()))?;
    if let Some(fault) = first_fault(&all) {
        return Err(Trouble::Said(format!("a rule of the book does not hold in it ({fault}), so nothing was taken")));
    }
    Ok(Done { sums: content::sums(tx.conn())?, rules: all.len(), steps, has_secrets: head.has_secrets })
}
