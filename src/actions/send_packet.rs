//! Sending a packet to the plant: by mail, or noted as given by hand. Until then it is a draft.

use super::edit_wording::wording_of;
use super::make_packet::{Ready, read_packet, ready};
use super::packet_document::{document, head_words};
use super::queue_message::common_values;
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{MessageId, PacketId};
use crate::book::rows::outbox::NewMessage;
use crate::book::rows::plants::ProcessingDate;
use crate::book::rows::sheets::Packet;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm, outbox, sheets, sheets_due};
use crate::paper::packet_changes::changes;
use crate::post::envelope::{check_address, new_message_id};
use crate::post::phrases::long_date;
use crate::post::wording::Purpose;
use crate::trade::vocabulary::{Channel, PaperKind};

/// Whether a packet still says what the book says, so that it may go out. Carcass numbers do not count.
///
/// # Errors
/// [`Failure::Unexpected`] when a stored sheet or packet cannot be read.
pub fn is_current(c: &mut DbConn, doing: &Doing, now: &Ready, packet: &Packet) -> Result<bool, Failure> {
    let farm = farm::get(c)?;
    let (made, fresh) = (read_packet(&packet.document)?, document(c, doing, &farm, now, packet.number)?);
    // What was open and is decided for the standard cut by now reads the same on the sheets.
    Ok(changes(&made, &fresh).is_empty() && fresh.open.iter().all(|o| made.open.contains(o)))
}

fn sendable(tx: &mut Tx, doing: &Doing, id: PacketId) -> Result<(Packet, Ready), Failure> {
    let packet = sheets::packet(tx.conn(), id)?;
    let now = ready(tx.conn(), packet.date_id)?;
    if packet.sent_at.is_some() {
        return Err(Failure::refuse("", format!("Packet {} was sent already.", packet.number)));
    }
    if now.date.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This date is cancelled, so nothing goes to the plant."));
    }
    if packet.number != now.last {
        let sentence = format!("Packet {} was made after this one. Send that one.", now.last);
        return Err(Failure::refuse("", sentence));
    }
    if !is_current(tx.conn(), doing, &now, &packet)? {
        let sentence =
            format!("Something changed after packet {} was made. Make a new one, and send that.", packet.number);
        return Err(Failure::refuse("", sentence));
    }
    let open = now.open();
    if !open.is_empty() {
        let sentence = format!(
            "Two quarters of one side have not agreed. {}. Decide, or send it anyway with the standard cut there.",
            open.join(". ")
        );
        return Err(Failure::refuse("", sentence));
    }
    Ok((packet, now))
}

/// Puts the packet into the outbox as mail to the plant, and marks it as sent.
///
/// # Errors
/// [`Failure::Refused`] when it was sent already, is not the last one, does not hold any more, or the plant has no mail
/// address that works; [`Failure::NotFound`] when there is none.
pub fn mail_packet(tx: &mut Tx, doing: &Doing, id: PacketId) -> Result<MessageId, Failure> {
    let (packet, now) = sendable(tx, doing, id)?;
    let Ok(to_address) = check_address(&now.plant.mail) else {
        let sentence = format!(
            "{} has no mail address that works. Put one in with the processor, or mark the packet as given by hand.",
            now.plant.name
        );
        return Err(Failure::refuse("", sentence));
    };
    let farm = farm::get(tx.conn())?;
    let changed = match &now.before {
        None => "This is the first packet for this day.".to_string(),
        Some(b) => format!(
            "It takes the place of packet {}. What changed is listed on a page of its own and marked on the sheets.",
            b.number
        ),
    };
    let n = now.sheets.len();
    let values = common_values(&farm, "")
        .with("processor", now.plant.name.as_str())
        .with("date", long_date(now.date.kill_on))
        .with("packet", format!("packet {}", packet.number))
        .with("head", head_words(&now))
        .with("sheets", format!("{n} cut sheet{}", if n == 1 { "" } else { "s" }))
        .with("changed", changed);
    let words = wording_of(tx.conn(), Purpose::Packet)?
        .wording
        .fill(Purpose::Packet, &values)
        .map_err(|fault| Failure::refuse("", format!("The message cannot be written. {}", fault.sentence)))?;
    let at = doing.now.at;
    let message = outbox::add(
        tx,
        &NewMessage {
            customer_id: None,
            reservation_id: None,
            purpose: Purpose::Packet.as_str().to_owned(),
            channel: Channel::Mail,
            to_name: now.plant.name.clone(),
            to_address,
            subject: words.subject,
            body: words.body,
            attachment_kind: Some(PaperKind::Packet),
            attachment_id: Some(id.0),
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
    sent(tx, doing, &packet, &now.date, format!("Packet {} was mailed to {}", packet.number, now.plant.name))?;
    Ok(message)
}

/// Notes that the plant has the packet on paper or by another way.
///
/// # Errors
/// As [`mail_packet`], without the address.
pub fn hand_over_packet(tx: &mut Tx, doing: &Doing, id: PacketId) -> Result<(), Failure> {
    let (packet, now) = sendable(tx, doing, id)?;
    sent(tx, doing, &packet, &now.date, format!("Packet {} was given to {} by hand", packet.number, now.plant.name))
}

/// Marks it as sent. That closes the sheets of the date for customers, those the farmer opened again as well.
fn sent(tx: &mut Tx, doing: &Doing, packet: &Packet, date: &ProcessingDate, line: String) -> Result<(), Failure> {
    if !sheets_due::mark_packet_sent(tx, packet.id, doing.now.at, &doing.actor)? {
        return Err(Failure::Stale);
    }
    if date.sheets_open && !dates::save(tx, &ProcessingDate { sheets_open: false, ..date.clone() }, date.version)? {
        return Err(Failure::Stale);
    }
    let line = Line { line, date: Some(date.id), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}
