//! Calendars as RFC 5545 text: the farm's feed, and the event that goes with a customer's mail. The same entries give the same text.
//!
//! Hours are written in UTC, so that they are right in every calendar, also across a change of the clocks; days are written as days.

use super::wording::one_line;
use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component, Event, EventLike, EventStatus, Property};

/// Who made the file.
const PRODUCT: &str = "-//Gambrel//Order book//EN";

/// What a calendar file is for (RFC 5546, section 3.2).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// It tells of entries.
    Publish,
    /// It takes entries back.
    Cancel,
}

impl Method {
    /// The word of the standard.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Publish => "PUBLISH",
            Self::Cancel => "CANCEL",
        }
    }
}

/// When something is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// A whole day.
    Day(NaiveDate),
    /// From an instant until another one.
    Hours(DateTime<Utc>, DateTime<Utc>),
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Stays the same as long as it is the same thing.
    pub uid: String,
    /// Counts the changes, from 0.
    pub sequence: i64,
    /// When it was written, to the second.
    pub stamp: DateTime<Utc>,
    /// When it is.
    pub when: When,
    /// One line.
    pub summary: String,
    /// Where; may be empty.
    pub location: String,
    /// More words; may be empty.
    pub description: String,
    /// Whether it is taken back.
    pub cancelled: bool,
}

/// A calendar file, lines ended by CRLF. `organizer` is the farm's mail address, or empty.
pub fn calendar(name: &str, method: Method, organizer: &str, entries: &[Entry]) -> String {
    let mut file = Calendar::empty();
    file.append_property(Property::new("VERSION", "2.0"));
    file.append_property(Property::new("PRODID", PRODUCT));
    file.append_property(Property::new("CALSCALE", "GREGORIAN"));
    file.append_property(Property::new("METHOD", method.as_str()));
    if !name.is_empty() {
        file.append_property(Property::new("X-WR-CALNAME", one_line(name)));
    }
    for e in entries {
        file.push(event(e, organizer));
    }
    folded(&file.to_string())
}

/// The longest line, in octets without its end (RFC 5545, section 3.1).
const LONGEST: usize = 75;

/// Folds the lines anew: the library lets the last piece of a line become an octet too long.
fn folded(file: &str) -> String {
    let mut out = String::with_capacity(file.len().saturating_add(256));
    for line in file.replace("\r\n ", "").split_terminator("\r\n") {
        let mut room = LONGEST;
        for c in line.chars() {
            if c.len_utf8() > room {
                out.push_str("\r\n ");
                room = LONGEST - 1;
            }
            out.push(c);
            room = room.saturating_sub(c.len_utf8());
        }
        out.push_str("\r\n");
    }
    out
}

fn event(e: &Entry, organizer: &str) -> Event {
    let mut event = Event::new();
    event.uid(&e.uid).timestamp(e.stamp).summary(&plain(&e.summary));
    event.add_property("SEQUENCE", e.sequence.to_string());
    match e.when {
        When::Day(day) => event.starts(day),
        When::Hours(from, to) => event.starts(from).ends(to),
    };
    if !e.location.is_empty() {
        event.location(&plain(&e.location));
    }
    if !e.description.is_empty() {
        event.description(&plain(&e.description));
    }
    if !organizer.is_empty() {
        event.add_property("ORGANIZER", format!("mailto:{organizer}"));
    }
    event.status(if e.cancelled { EventStatus::Cancelled } else { EventStatus::Confirmed });
    event.done()
}

/// Control characters have no place in a calendar; line ends become those of the text type.
fn plain(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    text.chars().filter(|c| *c == '\n' || !c.is_control()).collect()
}
