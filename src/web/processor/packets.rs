//! The packets of a date at the plant: cut sheets as a page, the paper to print, and saying that it is here.

use super::frame::{Place, PlantFrame};
use super::holder::PlantHolder;
use super::latest::when;
use crate::actions::Failure;
use crate::actions::make_packet::{packet_again, read_packet};
use crate::actions::plant_entry::receive_packet;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId};
use crate::book::rows::plant_page::PacketReceipt;
use crate::book::rows::sheets::Packet as Stored;
use crate::book::{plant_entries, sheets as stored};
use crate::paper::packet::Packet;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::look::respond::{page, see_other};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;

/// The packets of a date that were sent, the latest first, each with who has it.
pub(super) fn sent_packets(c: &mut DbConn, id: DateId) -> Result<Vec<(Stored, Option<PacketReceipt>)>, Failure> {
    let mut receipts = plant_entries::receipts(c, id)?;
    let sent = stored::packets_of(c, id)?.into_iter().filter(|p| p.sent_at.is_some());
    Ok(sent
        .map(|p| {
            let r = receipts.remove(&p.id);
            (p, r)
        })
        .collect())
}

/// A packet in the list.
pub(super) struct Line {
    pub(super) id: PacketId,
    pub(super) number: i64,
    /// "Sent Thursday, October 7".
    pub(super) sent: String,
    /// "Received by Sam, October 8"; empty while it was not said.
    pub(super) received: String,
}

pub(super) fn lines(holder: &PlantHolder, packets: &[(Stored, Option<PacketReceipt>)]) -> Vec<Line> {
    let line = |(p, receipt): &(Stored, Option<PacketReceipt>)| Line {
        id: p.id,
        number: p.number,
        sent: p.sent_at.map(|at| format!("Sent {}", when(holder, at))).unwrap_or_default(),
        received: receipt
            .as_ref()
            .map(|r| format!("Received by {}, {}", r.received_by, when(holder, r.received_at)))
            .unwrap_or_default(),
    };
    packets.iter().map(line).collect()
}

#[derive(Template)]
#[template(path = "processor/sheets.html")]
struct SheetsPage {
    frame: PlantFrame,
    packets: Vec<Line>,
    packet: Option<Packet>,
}

/// The cut sheets of the packet sent last.
///
/// # Errors
/// When the book or the packet cannot be read.
pub async fn sheets(holder: PlantHolder, app: web::Data<App>) -> Answer {
    let id = holder.id();
    let packets = app.read(move |c| sent_packets(c, id)).await?;
    let packet = packets.first().map(|(p, _)| read_packet(&p.document)).transpose()?;
    Ok(page(&SheetsPage { frame: holder.frame(Place::Sheets), packets: lines(&holder, &packets), packet }))
}

/// A packet to print.
///
/// # Errors
/// 404 when it is not a packet of this date that was sent.
pub async fn paper(holder: PlantHolder, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (date, id) = (holder.id(), PacketId(*id));
    let (name, pdf) = app
        .read(move |c| {
            let packet = stored::packet(c, id)?;
            if packet.date_id != date || packet.sent_at.is_none() {
                return Err(Failure::NotFound);
            }
            packet_again(c, id)
        })
        .await?;
    Ok(pdf_answer(&name, pdf))
}

/// The plant has the packet.
///
/// # Errors
/// 404 when it is not a packet of this date that was sent; 422 when that was said before.
pub async fn received(holder: PlantHolder, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let (date, id, by) = (holder.id(), PacketId(*id), holder.name.clone());
    let (_, key) = sent.with_key();
    let done = app.act(&holder, &key, move |tx, doing| {
        receive_packet(tx, doing, date, id, &by)?;
        Ok("/plant".into())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you. The farm sees that you have it.")),
        Err(f) => Err(PageError::Failed(f)),
    }
}
