//! Making the packet of a date: every share's cut sheet on paper for the plant, frozen as it was sent.

use super::cut_sheet::{SheetIn, save_sheet};
use super::packet_document::document;
use super::share_side::{Agreed, sides_on};
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId, ReservationId};
use crate::book::placements::{self, Share};
use crate::book::rows::animals::Animal;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::sheets::{CutSheet, NewPacket};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, dates, farm, sheets};
use crate::paper::packet::Packet;
use crate::trade::vocabulary::SheetOrigin;
use std::collections::HashMap;

/// The packet that was sent last.
pub struct Before {
    /// Its number.
    pub number: i64,
    /// When it was sent.
    pub sent_at: At,
    /// What stands in it.
    pub document: Packet,
    /// The revisions in it.
    pub revisions: HashMap<ReservationId, i64>,
}

/// What a packet of a date would hold now.
pub struct Ready {
    /// The date.
    pub date: ProcessingDate,
    /// The plant.
    pub plant: Processor,
    /// Its head that were not lost, in order.
    pub head: Vec<Animal>,
    /// The shares on them, in the order of head and side.
    pub shares: Vec<Share>,
    /// The sheets there are.
    pub sheets: HashMap<ReservationId, CutSheet>,
    /// The sides that two quarters share, settled.
    pub sides: Vec<Agreed>,
    /// The packet that was sent last, if one was.
    pub before: Option<Before>,
    /// The number of the packet made last, sent or not; 0 for none.
    pub last: i64,
}

impl Ready {
    /// The shares that have no cut sheet.
    pub fn missing(&self) -> Vec<&Share> {
        self.shares.iter().filter(|s| !self.sheets.contains_key(&s.reservation)).collect()
    }
    /// Where two quarters of one side have not agreed: a line for each side.
    pub fn open(&self) -> Vec<String> {
        self.sides.iter().filter_map(Agreed::open_words).collect()
    }
    /// Shares whose sheet is new or changed since the packet sent last, or whose side was decided since; none when none was sent.
    pub fn changed(&self) -> Vec<&Share> {
        let Some(Before { revisions, sent_at, .. }) = &self.before else { return Vec::new() };
        let now = |s: &Share| self.sheets.get(&s.reservation).map(|x| x.revision);
        let decided = |s: &Share| {
            let on = self.sides.iter().map(|a| &a.shared).filter(|side| side.who(s.reservation).is_some());
            on.into_iter().any(|side| side.decisions.iter().any(|d| side.holds(d) && d.decided_at > *sent_at))
        };
        self.shares.iter().filter(|s| revisions.get(&s.reservation).copied() != now(s) || decided(s)).collect()
    }
}

/// Looks at a date.
///
/// # Errors
/// [`Failure::NotFound`] when there is none.
pub fn ready(c: &mut DbConn, id: DateId) -> Result<Ready, Failure> {
    let (date, plant) = dates::get(c, id)?;
    let head: Vec<Animal> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
    let ids: Vec<_> = head.iter().map(|a| a.id).collect();
    let mut shares = placements::shares_on(c, &ids)?;
    shares.sort_by_key(|s| (head.iter().position(|a| a.id == s.animal), s.slots.clone()));
    let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
    let sheets = sheets::of(c, &orders)?;
    let sides = sides_on(c, id)?;
    let packets = sheets::packets_of(c, id)?;
    let last = packets.first().map_or(0, |p| p.number);
    let before = match packets.into_iter().find_map(|p| Some((p.sent_at?, p))) {
        Some((sent_at, p)) => {
            let revisions = sheets::revisions_in(c, p.id)?;
            Some(Before { number: p.number, sent_at, document: read_packet(&p.document)?, revisions })
        }
        None => None,
    };
    Ok(Ready { date, plant, head, shares, sheets, sides, before, last })
}

/// A packet's frozen content.
///
/// # Errors
/// [`Failure::Unexpected`] when it cannot be read.
pub fn read_packet(document: &str) -> Result<Packet, Failure> {
    serde_json::from_str(document).map_err(|e| Failure::Unexpected(format!("the stored packet cannot be read: {e}")))
}

/// Makes the next packet of a date. With `standard` the shares without a cut sheet get the standard cut first.
///
/// # Errors
/// [`Failure::Refused`] when the date is cancelled, nothing is on it, or sheets are missing and `standard` is not given.
pub fn make_packet(tx: &mut Tx, doing: &Doing, id: DateId, standard: bool) -> Result<PacketId, Failure> {
    let now = ready(tx.conn(), id)?;
    if now.date.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This date is cancelled, so nothing goes to the plant."));
    }
    if now.shares.is_empty() {
        return Err(Failure::refuse("", "No share has a place on this date yet. Give shares their places first."));
    }
    let missing: Vec<ReservationId> = now.missing().iter().map(|s| s.reservation).collect();
    if !missing.is_empty() && !standard {
        let names: Vec<_> = now.missing().iter().map(|s| s.name.clone()).collect();
        let sentence = format!(
            "There is no cut sheet for: {}. Enter them, or tick that they get the standard cut.",
            names.join(", ")
        );
        return Err(Failure::refuse("standard", sentence));
    }
    for order in missing {
        save_sheet(tx, doing, order, 0, &SheetIn::default(), SheetOrigin::Standard)?;
    }
    let now = ready(tx.conn(), id)?;
    let farm = farm::get(tx.conn())?;
    let number = now.last.saturating_add(1);
    let document = document(tx.conn(), doing, &farm, &now, number)?;
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let revisions: Vec<_> = now.sheets.values().map(|s| (s.reservation_id, s.revision)).collect();
    let new = NewPacket { date_id: id, number, document: json, made_at: doing.now.at };
    let packet = sheets::add_packet(tx, &new, &revisions)?;
    let line = format!("Packet {number} was made for {}, {} cut sheets", now.plant.name, now.sheets.len());
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(id), ..Line::default() })?;
    Ok(packet)
}

/// A packet's file name and PDF, made again from its frozen content.
///
/// # Errors
/// [`Failure::NotFound`] when there is none; [`Failure::Unexpected`] when it cannot be read or drawn.
pub fn packet_again(c: &mut DbConn, id: PacketId) -> Result<(String, Vec<u8>), Failure> {
    let stored = sheets::packet(c, id)?;
    let (date, _) = dates::get(c, stored.date_id)?;
    let packet = read_packet(&stored.document)?;
    let pdf = packet.pdf().map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok((format!("packet {} {}.pdf", date.kill_on, stored.number), pdf))
}
