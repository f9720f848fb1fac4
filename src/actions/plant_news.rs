//! One mail to the farm about what a plant entered, when it has stopped typing: a digest, never a mail for each row.

use super::edit_wording::wording_of;
use super::queue_message::common_values;
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::ids::{DateId, PlantEntryId};
use crate::book::plant_entries;
use crate::book::rows::outbox::NewMessage;
use crate::book::rows::plant_page::PlantEntry;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, dates, farm, outbox, placements};
use crate::post::envelope::{check_address, new_message_id};
use crate::post::phrases::long_date;
use crate::post::wording::Purpose;
use crate::trade::plant_entry::Entered;
use crate::trade::vocabulary::Channel;
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// How long a plant must have entered nothing before the farm is mailed.
pub const QUIET: TimeDelta = TimeDelta::minutes(15);
/// How long the farm is left without news at most while a plant goes on typing.
pub const AT_MOST: TimeDelta = TimeDelta::hours(2);
/// Lines of one mail, at most.
const LINES: usize = 30;

/// Mails the farm about entries it was not told of; how many mails. Without a mail address of the farm that works, Today alone says it.
///
/// # Errors
/// The database's own, or a wording that cannot be filled.
pub fn tell_news(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    let farm = farm::get(tx.conn())?;
    let Ok(to_address) = check_address(&farm.mail) else { return Ok(0) };
    let mut per: BTreeMap<DateId, Vec<PlantEntry>> = BTreeMap::new();
    for entry in plant_entries::untold(tx.conn())? {
        per.entry(entry.date_id).or_default().push(entry);
    }
    let mut sent = 0;
    for (date, entries) in per {
        if !is_due(&entries, doing.now.at) {
            continue;
        }
        let (d, plant) = dates::get(tx.conn(), date)?;
        let mut lines = Vec::new();
        for entry in entries.iter().take(LINES) {
            lines.push(line(tx, entry, farm.unit.as_str())?);
        }
        if entries.len() > LINES {
            lines.push(format!("and {} more", entries.len() - LINES));
        }
        let values = common_values(&farm, "")
            .with("processor", plant.name.as_str())
            .with("date", long_date(d.kill_on))
            .with("entries", lines.join("\n"));
        let words = wording_of(tx.conn(), Purpose::PlantNews)?
            .wording
            .fill(Purpose::PlantNews, &values)
            .map_err(|fault| Failure::refuse("", format!("The message cannot be written. {}", fault.sentence)))?;
        let at = doing.now.at;
        outbox::add(
            tx,
            &NewMessage {
                customer_id: None,
                reservation_id: None,
                purpose: Purpose::PlantNews.as_str().to_owned(),
                channel: Channel::Mail,
                to_name: farm.name.clone(),
                to_address: to_address.clone(),
                subject: words.subject,
                body: words.body,
                attachment_kind: None,
                attachment_id: None,
                message_id: new_message_id(&farm.mail).map_err(Failure::Unexpected)?,
                queued_at: at,
                next_try_at: Some(at),
                tries: 0,
                last_error: None,
                sent_at: None,
                failed_at: None,
                handed_over_at: None,
            },
        )?;
        let ids: Vec<PlantEntryId> = entries.iter().map(|e| e.id).collect();
        plant_entries::mark_told(tx, &ids, at)?;
        let told = Line {
            line: format!("A mail to the farm says what {} entered", plant.name),
            date: Some(date),
            ..Line::default()
        };
        stories::tell(tx, at, &doing.actor, told)?;
        sent += 1;
    }
    Ok(sent)
}

/// Whether the plant has stopped typing, or began long ago.
fn is_due(entries: &[PlantEntry], now: At) -> bool {
    let last = entries.iter().map(|e| e.entered_at).max();
    let first = entries.iter().map(|e| e.entered_at).min();
    last.is_some_and(|at| at.plus(QUIET) <= now) || first.is_some_and(|at| at.plus(AT_MOST) <= now)
}

/// "Steer 229: 389.5 + 380 = 769.5 lb, hot".
fn line(tx: &mut Tx, entry: &PlantEntry, unit: &str) -> Result<String, Failure> {
    let about = match (entry.animal_id, entry.reservation_id) {
        (Some(id), _) => animals::get(tx.conn(), id)?.name(),
        (_, Some(id)) => {
            placements::shares_of(tx.conn(), &[id])?.first().map_or_else(|| "A share".into(), |s| s.name.clone())
        }
        _ => entry.entered_by.clone(),
    };
    let says = match entry.entered().map_err(Failure::Unexpected)? {
        Entered::Carcass(c) => c.says(unit)?,
        Entered::Boxes(b) => b.says(unit),
        Entered::Ready { on } => format!("everything is ready on {}", long_date(on)),
        Entered::Note { words } => format!("“{words}”"),
    };
    Ok(format!("{about}: {says}"))
}
