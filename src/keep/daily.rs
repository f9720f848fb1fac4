//! What is kept without being asked: a copy a day, one before each upgrade, a rehearsed restore a month.

use super::copy::{self, back_up};
use super::record::{LastFailure, Record, Why};
use super::{DAY, TOO_OLD, folder, verify};
use crate::book::at::At;
use crate::book::conn::Place;
use crate::book::snapshot;
use crate::config::Config;

/// How the copies of a book stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Status {
    /// The newest verified copy in which every rule holds.
    pub newest: Option<Record>,
    /// When the newest of all was made: milliseconds since 1970 in UTC.
    pub last_made_at: Option<i64>,
    /// When a restore was last rehearsed: milliseconds since 1970 in UTC.
    pub rehearsed_at: Option<i64>,
    /// Why the last try failed, if it did.
    pub failure: Option<LastFailure>,
}

impl Status {
    /// Whether the newest copy is too old, or there is none. A clock that went back makes a copy of the future: that one
    /// counts as fresh, because it was verified.
    pub fn is_late(&self, at: At) -> bool {
        self.newest.as_ref().is_none_or(|r| at.0.saturating_sub(r.made_at) > TOO_OLD)
    }
}

/// How the copies of the book of these settings stand; reads the folder's records.
pub fn status(config: &Config) -> Status {
    let folder = folder::of(&config.data);
    let mut records = folder::records(&folder);
    // After a move to the other engine the copies of before are kept, and no longer say how this book stands.
    let ending = copy::ending(&config.place);
    records.retain(|r| r.file.rsplit_once('.').is_some_and(|(_, e)| e == ending));
    Status {
        rehearsed_at: records.iter().filter_map(|r| r.rehearsed_at).max(),
        failure: folder::last_failure(&folder),
        last_made_at: records.first().map(|r| r.made_at),
        newest: records.into_iter().find(|r| r.fault.is_none()),
    }
}

/// Does what is due: a copy when the newest is a day old, a rehearsed restore of the newest when the last is 30 days old.
/// Returns what was done, in words for the log.
///
/// # Errors
/// A sentence; it is noted for the farmer as well.
pub fn keep_up(config: &Config, at: At) -> Result<Option<String>, String> {
    if !config.makes_copies() {
        return Ok(None);
    }
    let now = status(config);
    let mut done = None;
    // A copy of the future comes of a clock that went back; then one is made at once.
    let is_fresh = now.last_made_at.is_some_and(|made| (0..DAY).contains(&at.0.saturating_sub(made)));
    let newest = if is_fresh {
        now.newest
    } else {
        let made = back_up(config, at, Why::Daily)?;
        if let Some(fault) = made.fault {
            return Err(format!("{} was made, but a rule of the book does not hold: {fault}", made.file));
        }
        done = Some(format!("a verified copy of the book was made: {}, {}", made.file, made.size()));
        Some(made)
    };
    let Some(newest) = newest else { return Ok(done) };
    if now.rehearsed_at.is_none_or(|r| at.0.saturating_sub(r) > 30 * DAY) {
        let folder = folder::of(&config.data);
        let _lock = folder::lock(&folder)?;
        let copy = folder.join(&newest.file);
        let rules = match &config.place {
            Place::File(_) => verify::rehearse(&copy, &folder.join("book-drill.rehearsal")),
            #[cfg(feature = "postgres")]
            Place::Postgres(url) => super::pg::rehearse(config, url, &copy, at),
        };
        match rules {
            Ok(rules) => {
                Record { rehearsed_at: Some(at.0), ..newest.clone() }.write(&folder)?;
                done = Some(format!("a restore of {} was rehearsed: all {rules} rules hold", newest.file));
            }
            Err(why) => {
                let why = format!("a rehearsed restore of {} failed: {why}", newest.file);
                folder::note(&folder, Some(&LastFailure { at: at.0, why: why.clone() }));
                return Err(why);
            }
        }
    }
    Ok(done)
}

/// Before a book is opened by a newer program: when its tables are to be changed, a copy is made and the change rehearsed on
/// it. Returns the copy's record, or none when nothing is to be changed.
///
/// # Errors
/// A sentence; the book was not touched.
pub fn before_upgrade(config: &Config, at: At) -> Result<Option<Record>, String> {
    if !config.makes_copies() {
        return Ok(None);
    }
    match snapshot::steps_to_come(&config.place)? {
        (true, steps) if !steps.is_empty() => back_up(config, at, Why::BeforeUpgrade).map(Some),
        _ => Ok(None),
    }
}
