//! Making a copy: snapshot, verify, name, record, second folder, and letting old ones go.

use super::folder;
use super::record::{LastFailure, Record, Why};
use super::rotate;
use super::verify::{Rules, rehearse, verify};
use crate::book::at::At;
use crate::book::conn::Place;
use crate::book::snapshot::{self, Taken};
use crate::config::Config;
use std::fs::{self, File};
use std::path::Path;

/// Makes a verified copy of the book of these settings. A failure is noted, so that the farmer sees it.
///
/// # Errors
/// A sentence; nothing that is not verified keeps the name of a copy.
pub fn back_up(config: &Config, at: At, why: Why) -> Result<Record, String> {
    let folder = folder::of(&config.data);
    let outcome = folder::lock(&folder).and_then(|_lock| make(config, &folder, at, why));
    match &outcome {
        Ok(record) => {
            let missed = config.backup_to.as_ref().filter(|_| record.also_in.is_none());
            let second = missed.map(|second| {
                format!("the copy could not be put into the second folder {}; is it there?", second.display())
            });
            let fault = record.fault.as_ref().map(|fault| {
                format!("a copy was made, but a rule of the book does not hold ({fault}). Run `gambrel check`, and keep the older copies")
            });
            folder::note(&folder, fault.or(second).map(|why| LastFailure { at: at.0, why }).as_ref());
        }
        Err(why) => folder::note(&folder, Some(&LastFailure { at: at.0, why: why.clone() })),
    }
    outcome
}

fn make(config: &Config, folder: &Path, at: At, why: Why) -> Result<Record, String> {
    folder::sweep(folder);
    let ending = ending(&config.place);
    let stem = free_stem(folder, at, ending);
    let part = folder.join(format!("{stem}.part"));
    let made = match &config.place {
        Place::File(book) => take(book, &part, &folder.join(format!("{stem}.rehearsal")), why),
        #[cfg(feature = "postgres")]
        Place::Postgres(url) => super::pg::take(config, url, &part, at, why),
    };
    let verified = made.and_then(|(taken, rules)| {
        File::open(&part)
            .and_then(|f| f.sync_all())
            .map_err(|e| format!("{} cannot be written: {e}", part.display()))?;
        Ok((taken, rules, folder::fingerprint(&part)?))
    });
    let (taken, rules, (sha256, bytes)) = match verified {
        Ok(verified) => verified,
        Err(e) => {
            let _ = fs::remove_file(&part);
            return Err(e);
        }
    };
    let file = format!("{stem}.{ending}");
    let named = folder.join(&file);
    fs::rename(&part, &named).map_err(|e| format!("{} cannot be named: {e}", named.display()))?;
    folder::sync_folder(&named);
    let mut record = Record {
        file,
        made_at: at.0,
        why,
        bytes,
        sha256,
        step: taken.step,
        verified_at: at.0,
        rules: rules.looked_at,
        fault: rules.fault,
        tables: taken.sums,
        rehearsed_at: (why == Why::BeforeUpgrade).then_some(at.0),
        also_in: None,
    };
    record.also_in = config.backup_to.as_ref().and_then(|second| put_into(second, &named, &record));
    record.write(folder)?;
    let_go(folder, at);
    if let Some(second) = config.backup_to.as_ref().filter(|_| record.also_in.is_some()) {
        let_go(second, at);
    }
    Ok(record)
}

/// Copies an embedded book into a new file and verifies it.
fn take(book: &Path, part: &Path, scratch: &Path, why: Why) -> Result<(Taken, Rules), String> {
    let taken = snapshot::copy_into(book, part)?;
    File::open(part).and_then(|f| f.sync_all()).map_err(|e| format!("{} cannot be written: {e}", part.display()))?;
    let rules = verify(part, &taken)?;
    // Before an upgrade the copy must also come through it: the book is not touched when it does not.
    if why != Why::BeforeUpgrade {
        return Ok((taken, rules));
    }
    let looked_at = rehearse(part, scratch)
        .map_err(|e| format!("the upgrade was rehearsed on a copy and failed, so the book was left as it is: {e}"))?;
    Ok((taken, Rules { looked_at, fault: None }))
}

/// The ending of the copies of a book.
pub(super) fn ending(place: &Place) -> &'static str {
    match place {
        Place::File(_) => "sqlite",
        #[cfg(feature = "postgres")]
        Place::Postgres(_) => super::pg::ENDING,
    }
}

/// A stem nobody has: two copies of one second are told apart, also where a book was moved to the other engine.
fn free_stem(folder: &Path, at: At, ending: &str) -> String {
    let stem = folder::stem(at);
    let is_taken = |s: &str| {
        folder.join(format!("{s}.{ending}")).exists()
            || folder.join(Record::name_beside(&format!("{s}.{ending}"))).exists()
    };
    let mut tried = stem.clone();
    let mut n = 2;
    while is_taken(&tried) {
        tried = format!("{stem}-{n}");
        n += 1;
    }
    tried
}

/// Puts a copy and its record into a second folder and reads it back; where it went, or none.
fn put_into(second: &Path, copy: &Path, record: &Record) -> Option<String> {
    let target = second.join(&record.file);
    let part = second.join(format!("{}.part", record.file));
    let put = || -> Result<(), String> {
        // The folder is not made here: a stick that is not plugged in must not become a folder on this disk.
        if !second.is_dir() {
            return Err("it is not there".into());
        }
        fs::copy(copy, &part).map_err(|e| e.to_string())?;
        File::open(&part).and_then(|f| f.sync_all()).map_err(|e| e.to_string())?;
        if folder::fingerprint(&part)?.0 != record.sha256 {
            return Err("what was written reads back differently".into());
        }
        fs::rename(&part, &target).map_err(|e| e.to_string())?;
        folder::sync_folder(&target);
        record.write(second)
    };
    match put() {
        Ok(()) => Some(second.display().to_string()),
        Err(e) => {
            let _ = fs::remove_file(&part);
            tracing::error!("the copy could not be put into {}: {e}", second.display());
            None
        }
    }
}

/// Removes what the rule lets go; the record goes last, so that a copy is never without one.
fn let_go(folder: &Path, at: At) {
    for file in rotate::to_remove(&folder::records(folder), at.0) {
        let gone =
            fs::remove_file(folder.join(&file)).and_then(|()| fs::remove_file(folder.join(Record::name_beside(&file))));
        if let Err(e) = gone {
            tracing::warn!("the old copy {file} could not be removed: {e}");
        }
    }
}
