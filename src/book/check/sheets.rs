//! Cut sheets: what stands in packets, and whom reminders went to.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId, ReservationId};
use crate::book::rows::sheets::SideDecision;
use crate::book::schema::*;
use crate::book::sheets;
use crate::trade::agree::PARAMETERS;
use crate::trade::cuts::catalogue;
use crate::trade::cuts::quarter::of_share;
use crate::trade::share::{Part, Size, Species};
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

/// A cut sheet names only parts that its share has: that of a forequarter none of the hindquarter's.
pub(super) fn blocks(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, String, Size, Option<Part>, Species)> = cut_sheet::table
        .inner_join(reservation::table.inner_join(offering::table))
        .select((cut_sheet::reservation_id, cut_sheet::sheet, reservation::size, reservation::part, offering::species))
        .load(c)?;
    let mut faults = Vec::new();
    for (order, text, size, part, species) in &rows {
        let own = of_share(*species, *size, part.unwrap_or(Part::Split));
        match (sheet_json::read(text), own) {
            (Ok(kept), Ok(own)) => {
                let named = kept.sheet.blocks.keys().chain(kept.sheet.partitions.keys());
                let strange = named.filter(|id| own.block(id).is_none());
                faults.extend(strange.map(|id| format!("the cut sheet of reservation {order} names {id}")));
            }
            (Err(why), _) => faults.push(format!("the cut sheet of reservation {order}: {why}")),
            (_, Err(why)) => faults.push(why.to_string()),
        }
    }
    Ok(Checked { rule: "every cut sheet names only parts that its share has", looked_at: rows.len(), faults })
}

/// 14: a decision about a shared side is of two orders in order, for revisions their cut sheets had, about something of the species.
pub(super) fn decisions(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(SideDecision, Species)> =
        side_decision::table.inner_join(animal::table).select((SideDecision::as_select(), animal::species)).load(c)?;
    let orders: Vec<ReservationId> = rows.iter().flat_map(|(d, _)| [d.first_id, d.second_id]).collect();
    let quarters: Vec<(ReservationId, Size)> = reservation::table
        .filter(reservation::id.eq_any(orders.clone()))
        .select((reservation::id, reservation::size))
        .load(c)?;
    let sheets = sheets::of(c, &orders)?;
    let mut faults = Vec::new();
    for (d, species) in &rows {
        let what = format!("the decision about {} on the {} side of animal {}", d.block, d.side, d.animal_id);
        for (order, revision) in [(d.first_id, d.first_revision), (d.second_id, d.second_revision)] {
            if revision > sheets.get(&order).map_or(0, |s| s.revision) {
                faults.push(format!("{what} is for revision {revision} of reservation {order}, which never was"));
            }
            if !quarters.iter().any(|(id, size)| *id == order && *size == Size::Quarter) {
                faults.push(format!("{what} is for reservation {order}, which is no quarter"));
            }
        }
        if !is_known(*species, &d.block) {
            faults.push(format!("{what} is about nothing a {} has", species.label()));
        }
    }
    Ok(Checked {
        rule: "14 every decision about a shared side is of two quarters, for revisions that were, about a part of the side",
        looked_at: rows.len(),
        faults,
    })
}

fn is_known(species: Species, block: &str) -> bool {
    PARAMETERS.contains(&block) || catalogue(species).is_ok_and(|all| all.block(block).is_some())
}
