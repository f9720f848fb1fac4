//! Private links of processors, and what they entered.

use super::Checked;
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId, PlantLinkId};
use crate::book::rows::plant_page::PlantEntry;
use crate::book::schema::{packet, packet_receipt, plant_entry, plant_link, processing_date};
use crate::trade::vocabulary::{EntryAnswer, EntryKind};
use diesel::prelude::*;
use std::collections::BTreeMap;

/// Characters of a SHA-256 in base64 without padding; a token has 32.
const HASH: usize = 43;

/// 9: a processor's link that works opens a date that is not cancelled, and only hashes are stored; who has a packet has one that was sent.
pub(super) fn links(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(PlantLinkId, DateId, String, Option<At>, Option<At>)> = plant_link::table
        .inner_join(processing_date::table)
        .select((
            plant_link::id,
            processing_date::id,
            plant_link::token_hash,
            plant_link::revoked_at,
            processing_date::cancelled_at,
        ))
        .load(c)?;
    let mut faults = Vec::new();
    for (id, date, hash, revoked_at, cancelled_at) in &rows {
        if revoked_at.is_none() && cancelled_at.is_some() {
            faults.push(format!("the plant’s link {id} works, but date {date} is cancelled"));
        }
        if hash.len() != HASH {
            faults.push(format!("the plant’s link {id} is not stored as a hash"));
        }
    }
    let unsent: Vec<PacketId> =
        packet_receipt::table.inner_join(packet::table).filter(packet::sent_at.is_null()).select(packet::id).load(c)?;
    faults.extend(unsent.iter().map(|id| format!("packet {id} was acknowledged, but never sent")));
    Ok(Checked {
        rule: "9  every link of a processor that works opens one date, which is not cancelled; only hashes are stored",
        looked_at: rows.len(),
        faults,
    })
}

/// 18: what a processor entered can be read, is of the kind it says, and its revisions have no gap; only the last one waits or counts.
pub(super) fn entries(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<PlantEntry> = plant_entry::table.order(plant_entry::id).select(PlantEntry::as_select()).load(c)?;
    let mut faults = Vec::new();
    let mut per: BTreeMap<_, Vec<&PlantEntry>> = BTreeMap::new();
    for entry in &rows {
        match entry.entered() {
            Err(why) => faults.push(format!("entry {}: {why}", entry.id)),
            Ok(entered) if entered.kind() != entry.kind => {
                faults.push(format!("entry {} is called a {}, and is none", entry.id, entry.kind.label()));
            }
            Ok(_) => {}
        }
        per.entry((entry.date_id, entry.kind, entry.animal_id, entry.reservation_id)).or_default().push(entry);
    }
    for ((date, kind, ..), all) in &per {
        if all.iter().zip(1_i64..).any(|(e, n)| e.revision != n) {
            faults.push(format!("the revisions of a {} of date {date} have a gap", kind.label()));
        }
        let earlier = all.iter().rev().skip(1);
        if *kind != EntryKind::Note && earlier.clone().any(|e| e.answer.is_none()) {
            faults.push(format!("a {} of date {date} waits though it was corrected", kind.label()));
        }
        if all.last().is_some_and(|e| e.answer == Some(EntryAnswer::Replaced)) {
            faults.push(format!("the last {} of date {date} was replaced by nothing", kind.label()));
        }
    }
    Ok(Checked {
        rule: "19 what processors entered is whole; only the last revision waits",
        looked_at: rows.len(),
        faults,
    })
}
