//! The farm's private calendar feed: processing dates, deadlines of cut sheets, and pickup windows, under a secret address.
//!
//! The token is shown once and stored as a hash. No customer's name is in the feed, because calendars keep copies elsewhere.

use super::pickup_words::{begins_at, ends_at, place_line};
use super::{Doing, Failure};
use crate::book::at::Now;
use crate::book::calendars;
use crate::book::conn::DbConn;
use crate::book::rows::calendars::CalendarFeed;
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{DateSlot, ProcessingDate};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm, pickup_places};
use crate::post::calendar::{Entry, Method, When, calendar};
use crate::secret;
use crate::trade::dates::full;
use chrono::{DateTime, TimeDelta, Timelike, Utc};

/// How many days back the feed goes.
const BACK: i64 = 60;

/// What ends the id of every entry: the farm, told apart by when it was set up. It never changes.
pub fn uid(farm: &Farm, what: &str) -> String {
    format!("{what}.{}@gambrel.invalid", farm.set_up_at.map_or(0, |at| at.0))
}

/// To the second, as calendars have it.
pub(super) fn stamp(now: Now) -> DateTime<Utc> {
    now.at.utc().with_nanosecond(0).unwrap_or_default()
}

/// Begins a new feed; an earlier one works no more.
///
/// # Errors
/// The database's own.
pub fn begin(tx: &mut Tx, doing: &Doing, token: &str) -> Result<(), Failure> {
    let renewed = calendars::end(tx, doing.now.at)? > 0;
    let (token_hash, made_at) = (secret::hash(token), doing.now.at);
    calendars::begin(tx, &CalendarFeed { token_hash, made_at, ended_at: None })?;
    let line = if renewed { "The calendar feed has a new address" } else { "A calendar feed was made" };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line: line.into(), ..Line::default() })?)
}

/// Ends the feed.
///
/// # Errors
/// The database's own.
pub fn stop(tx: &mut Tx, doing: &Doing) -> Result<(), Failure> {
    if calendars::end(tx, doing.now.at)? > 0 {
        let line = Line { line: "The calendar feed was ended".into(), ..Line::default() };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}

/// The feed of a token; none when it opens nothing.
///
/// # Errors
/// The database's own.
pub fn feed(c: &mut DbConn, at: crate::book::at::At, token: &str) -> Result<Option<String>, Failure> {
    if calendars::by_token(c, &secret::hash(token))?.is_none() {
        return Ok(None);
    }
    let farm = farm::get(c)?;
    let zone = farm.zone();
    let now = Now { at, today: at.day(zone), zone };
    let since = now.today - TimeDelta::days(BACK);
    let mut entries = Vec::new();
    let all = calendars::dates_since(c, since)?;
    let slots = dates::slots(c, &all.iter().map(|(d, _)| d.id).collect::<Vec<_>>())?;
    for (date, plant) in &all {
        entries.extend(of_date(&farm, now, date, &plant.name, &plant.address, &slots));
    }
    let windows = calendars::windows_since(c, since)?;
    let taken = pickup_places::taken(c, &windows.iter().map(|(w, _)| w.id).collect::<Vec<_>>())?;
    for (w, place) in &windows {
        let n = taken.get(&w.id).copied().unwrap_or(0);
        entries.push(Entry {
            uid: uid(&farm, &format!("window-{}", w.id)),
            // Who comes changes without the window itself; the count moves the entry on.
            sequence: w.version.saturating_sub(1).max(0),
            stamp: stamp(now),
            when: When::Hours(begins_at(w, now).utc(), ends_at(w, now).utc()),
            summary: format!("Pickup at {}: {n} of {} come", place.name, w.most),
            location: place_line(place),
            description: String::new(),
            cancelled: false,
        });
    }
    Ok(Some(calendar(&farm.name, Method::Publish, "", &entries)))
}

fn of_date(farm: &Farm, now: Now, d: &ProcessingDate, plant: &str, address: &str, slots: &[DateSlot]) -> Vec<Entry> {
    let head: Vec<String> =
        slots.iter().filter(|s| s.date_id == d.id).map(|s| format!("{} {}", s.head, s.species.label())).collect();
    let head = if head.is_empty() { String::new() } else { format!(": {}", head.join(", ")) };
    let location = std::iter::once(plant).chain(address.lines().map(str::trim).filter(|l| !l.is_empty()));
    let location = location.collect::<Vec<_>>().join(", ");
    let entry = |what: &str, day, summary: String, description: String| Entry {
        uid: uid(farm, &format!("date-{}-{what}", d.id)),
        sequence: d.version.saturating_sub(1).max(0),
        stamp: stamp(now),
        when: When::Day(day),
        summary,
        location: location.clone(),
        description,
        cancelled: false,
    };
    let mut all = vec![entry("kill", d.kill_on, format!("Slaughter at {plant}{head}"), d.notes.clone())];
    if let Some(day) = d.deliver_on {
        let time = if d.deliver_time.is_empty() { String::new() } else { format!("By {}.", d.deliver_time) };
        all.push(entry("deliver", day, format!("Deliver to {plant}{head}"), time));
    }
    if let Some(day) = d.sheets_due {
        let says = format!("Last day for cut sheets, {plant}");
        all.push(entry("sheets", day, says, format!("Slaughter is on {}.", full(d.kill_on))));
    }
    all
}
