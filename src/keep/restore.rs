//! Putting a copy back in place of the book.

use super::copy::back_up;
use super::record::{Record, Why};
use super::verify::bring_forward;
use super::{folder, hold};
use crate::book::at::At;
use crate::book::conn::Place;
use crate::book::snapshot;
use crate::config::Config;
use std::fs::{self, File};
use std::path::Path;

/// Puts a copy in place of the book of these settings: refuses while it is served, keeps what it replaces, brings the copy's
/// tables up to date, checks every rule. Returns what was done, a sentence a line. When it fails the book is as it was.
///
/// # Errors
/// A sentence.
pub fn restore(config: &Config, file: &Path, at: At) -> Result<Vec<String>, String> {
    if !file.is_file() {
        return Err(format!("there is no file {}", file.display()));
    }
    let _alone = hold::alone(&config.data)?;
    let mut said = Vec::new();
    said.extend(unchanged(file)?);
    said.extend(match &config.place {
        Place::File(book) => embedded(config, book, file, at)?,
        #[cfg(feature = "postgres")]
        Place::Postgres(url) => super::pg::restore(config, url, file, at)?,
    });
    Ok(said)
}

/// Refuses a copy that is not what its record says; says so when it is, and nothing without a record.
fn unchanged(file: &Path) -> Result<Option<String>, String> {
    let Some(record) = record_of(file) else { return Ok(None) };
    let (sha256, _) = folder::fingerprint(file)?;
    if sha256 != record.sha256 {
        return Err(format!(
            "{} is not what it was when it was made: its SHA-256 differs from its record. Take another copy",
            file.display()
        ));
    }
    Ok(Some(format!("{} is unchanged since it was made ({}).", file.display(), record.why.words())))
}

/// Puts a copy in place of an embedded book.
fn embedded(config: &Config, book: &Path, file: &Path, at: At) -> Result<Vec<String>, String> {
    if file.extension().is_some_and(|e| e == "pgdump" || e == "json") {
        return Err(format!(
            "{} is no copy of an embedded book. A whole book in JSON is read by `gambrel import`; a copy of a book in PostgreSQL is restored \
             where DATABASE_URL names one, and moved by `gambrel move`",
            file.display()
        ));
    }
    let mut said = Vec::new();
    let ready = book.with_extension("restoring");
    clear(&ready);
    let rules = bring_forward(file, &ready).inspect_err(|_| clear(&ready))?;
    said.push(format!("It was opened, brought up to date, and all {rules} rules hold in it."));
    File::open(&ready).and_then(|f| f.sync_all()).map_err(|e| format!("{} cannot be written: {e}", ready.display()))?;
    if book.exists() {
        said.push(keep_what_is_there(config, book, at).inspect_err(|_| clear(&ready))?);
        // A journal left beside would be played into the restored book.
        for ending in ["-wal", "-shm", "-journal"] {
            let _ = fs::remove_file(format!("{}{ending}", book.display()));
        }
    }
    fs::rename(&ready, book).map_err(|e| format!("{} cannot be put in place: {e}", ready.display()))?;
    folder::sync_folder(book);
    said.push(format!("It is now the book at {}.", book.display()));
    Ok(said)
}

/// The record beside a file, if there is one.
fn record_of(file: &Path) -> Option<Record> {
    let name = file.file_name()?.to_str()?;
    let beside = file.with_file_name(Record::name_beside(name));
    serde_json::from_slice(&fs::read(beside).ok()?).ok()
}

/// Keeps the book that is replaced: as a verified copy, or, when it is too broken for one, its files as they are.
fn keep_what_is_there(config: &Config, book: &Path, at: At) -> Result<String, String> {
    match back_up(config, at, Why::BeforeRestore) {
        Ok(record) => Ok(format!("What was there before is kept as the copy {}.", record.file)),
        Err(why) => {
            // Its journal belongs to it; without settling, what stands there only would be lost.
            let _ = snapshot::settle(book);
            let aside = book.with_extension(format!("replaced-{}", at.utc().format("%Y%m%dT%H%M%SZ")));
            for ending in ["", "-wal", "-shm", "-journal"] {
                let (from, to) = (format!("{}{ending}", book.display()), format!("{}{ending}", aside.display()));
                if Path::new(&from).exists() {
                    fs::rename(&from, &to).map_err(|e| format!("{from} cannot be kept: {e}"))?;
                }
            }
            Ok(format!("What was there before was not sound ({why}); its files are kept as {}.", aside.display()))
        }
    }
}

fn clear(path: &Path) {
    for ending in ["", "-wal", "-shm", "-journal"] {
        let _ = fs::remove_file(format!("{}{ending}", path.display()));
    }
}
