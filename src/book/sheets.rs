//! Cut sheets, and the packets made of them for a processor.

use super::conn::DbConn;
use super::ids::{DateId, PacketId, ReservationId};
use super::rows::sheets::{CutSheet, NewPacket, Packet, PacketSheet};
use super::schema::{cut_sheet, packet, packet_sheet};
use super::store::Tx;
use diesel::prelude::*;
use std::collections::HashMap;

/// The sheets of these orders; those without one are left out.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, CutSheet>> {
    let rows: Vec<CutSheet> = cut_sheet::table
        .filter(cut_sheet::reservation_id.eq_any(orders.to_vec()))
        .select(CutSheet::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|s| (s.reservation_id, s)).collect())
}

/// Adds the first sheet of an order.
///
/// # Errors
/// The database's own; a unique violation when there is one.
pub fn add(tx: &mut Tx, new: &CutSheet) -> QueryResult<()> {
    diesel::insert_into(cut_sheet::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Saves a changed sheet if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &CutSheet, version: i64) -> QueryResult<bool> {
    let next = CutSheet { version: version.saturating_add(1), ..changed.clone() };
    let mine = cut_sheet::table
        .filter(cut_sheet::reservation_id.eq(changed.reservation_id))
        .filter(cut_sheet::version.eq(version));
    Ok(diesel::update(mine).set(next).execute(tx.conn())? == 1)
}

/// One packet.
///
/// # Errors
/// `NotFound` when there is none.
pub fn packet(c: &mut DbConn, id: PacketId) -> QueryResult<Packet> {
    packet::table.find(id).select(Packet::as_select()).first(c)
}

/// The packets of a date, the latest first.
///
/// # Errors
/// The database's own.
pub fn packets_of(c: &mut DbConn, date: DateId) -> QueryResult<Vec<Packet>> {
    packet::table
        .filter(packet::date_id.eq(date))
        .order(packet::number.desc())
        .limit(50)
        .select(Packet::as_select())
        .load(c)
}

/// Which revisions stand in a packet.
///
/// # Errors
/// The database's own.
pub fn revisions_in(c: &mut DbConn, id: PacketId) -> QueryResult<HashMap<ReservationId, i64>> {
    let rows: Vec<PacketSheet> =
        packet_sheet::table.filter(packet_sheet::packet_id.eq(id)).select(PacketSheet::as_select()).load(c)?;
    Ok(rows.into_iter().map(|r| (r.reservation_id, r.revision)).collect())
}

/// Adds a packet with the revisions that stand in it.
///
/// # Errors
/// The database's own.
pub fn add_packet(tx: &mut Tx, new: &NewPacket, sheets: &[(ReservationId, i64)]) -> QueryResult<PacketId> {
    let c = tx.conn();
    let id: PacketId = diesel::insert_into(packet::table).values(new.clone()).returning(packet::id).get_result(c)?;
    for (reservation_id, revision) in sheets {
        let row = PacketSheet { packet_id: id, reservation_id: *reservation_id, revision: *revision };
        diesel::insert_into(packet_sheet::table).values(row).execute(c)?;
    }
    Ok(id)
}
