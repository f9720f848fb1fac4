//! Cut sheets: what stands in packets, and whom reminders went to.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId, ReservationId};
use crate::book::schema::*;
use crate::trade::sheet_json;
use diesel::prelude::*;
use std::collections::BTreeMap;

/// 11: a packet holds revisions its cut sheets had, and the packets of a date are numbered from 1 without a gap.
pub(super) fn packets(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(PacketId, ReservationId, i64, Option<i64>)> = packet_sheet::table
        .left_join(cut_sheet::table.on(cut_sheet::reservation_id.eq(packet_sheet::reservation_id)))
        .select((
            packet_sheet::packet_id,
            packet_sheet::reservation_id,
            packet_sheet::revision,
            cut_sheet::revision.nullable(),
        ))
        .load(c)?;
    let mut faults: Vec<String> = rows
        .iter()
        .filter(|(_, _, revision, now)| now.is_none_or(|now| *revision > now || *revision < 1))
        .map(|(id, res, revision, _)| {
            format!("packet {id} holds revision {revision} of reservation {res}, which never was")
        })
        .collect();
    let made: Vec<(DateId, i64)> =
        packet::table.order((packet::date_id, packet::number)).select((packet::date_id, packet::number)).load(c)?;
    let mut last: BTreeMap<DateId, i64> = BTreeMap::new();
    for (date, number) in made {
        let before = last.insert(date, number).unwrap_or(0);
        if number != before.saturating_add(1) {
            faults.push(format!("date {date} has packet {number} after packet {before}"));
        }
    }
    Ok(Checked {
        rule: "11 packets hold revisions that were, and are numbered without a gap",
        looked_at: rows.len(),
        faults,
    })
}

/// 12: what reminds of a missing cut sheet is a message of the same order.
pub(super) fn reminders(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, Option<ReservationId>)> = sheet_reminder::table
        .left_join(message::table.on(sheet_reminder::message_id.eq(message::id.nullable())))
        .select((sheet_reminder::reservation_id, message::reservation_id.nullable()))
        .load(c)?;
    let faults = rows
        .iter()
        .filter(|(order, said)| *said != Some(*order))
        .map(|(order, _)| format!("the reminder of reservation {order} is not a message of that order"))
        .collect();
    Ok(Checked { rule: "12 every reminder of a cut sheet is a message of its order", looked_at: rows.len(), faults })
}

/// A cut sheet that was begun can be read, so that its customer can go on with it.
pub(super) fn drafts(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, String)> =
        sheet_draft::table.select((sheet_draft::reservation_id, sheet_draft::sheet)).load(c)?;
    let faults = rows
        .iter()
        .filter_map(|(order, text)| {
            Some(format!("the draft of reservation {order}: {}", sheet_json::read(text).err()?))
        })
        .collect();
    Ok(Checked { rule: "every cut sheet that was begun can be read", looked_at: rows.len(), faults })
}
