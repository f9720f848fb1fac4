//! The private link of a mail, made as the mail leaves: only then is its token known, and only the mail has it, in its words and on
//! the receipt that goes with it.

use super::confirm_request::link_for_mail;
use super::{Failure, plant_link, private_link};
use crate::book::at::Now;
use crate::book::ids::{CustomerLinkId, PacketId, PlantLinkId};
use crate::book::rows::outbox::Message;
use crate::book::store::Tx;
use crate::book::{dates, links, plant_links, reservations, sheets};
use crate::post::private_link::{is_wanted, with_link, without};
use crate::post::wording::Purpose;
use crate::trade::vocabulary::{Channel, LinkFor, PaperKind};

/// Whether a message is to carry a private link: in its words, or on the receipt that goes with it.
pub fn wants_link(m: &Message) -> bool {
    is_wanted(&m.body) || (m.attachment_kind == Some(PaperKind::Receipt) && m.reservation_id.is_some())
}

/// The link that was made for a mail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// A customer's, to an order.
    Order(CustomerLinkId),
    /// A processor's, to a date: it goes with the packet.
    Date(PlantLinkId),
}

/// Takes a link away whose mail was refused outright, so that nobody has it.
///
/// # Errors
/// The database's own.
pub fn forget(tx: &mut Tx, made: Made) -> Result<(), Failure> {
    match made {
        Made::Order(id) => links::forget(tx, id)?,
        Made::Date(id) => plant_links::forget(tx, id)?,
    }
    Ok(())
}

/// Puts a fresh link into a message that wants one, or takes the paragraph out where there can be none: no public address, neither an
/// order nor a packet, or an order or date whose links have ended. A mail with a receipt gets one for the receipt even where its words
/// want none. Returns the link made, and its address.
///
/// # Errors
/// The database's own.
pub fn put_link_in(
    tx: &mut Tx,
    now: Now,
    m: &mut Message,
    base: Option<&str>,
    token: &str,
) -> Result<Option<(Made, String)>, Failure> {
    if !wants_link(m) {
        return Ok(None);
    }
    if m.purpose == Purpose::RequestConfirm.as_str() {
        let link = link_for_mail(tx, now.at, m.id, (base, m.channel), token)?;
        m.body = link.map_or_else(|| without(&m.body), |url| with_link(&m.body, &url));
        return Ok(None);
    }
    if let (Some(base), Some(order), Channel::Mail) = (base, m.reservation_id, m.channel) {
        let (r, ..) = reservations::get(tx.conn(), order)?;
        // A share that went to somebody else meanwhile is not opened to the one who had it.
        let is_theirs = m.customer_id.is_none_or(|customer| customer == r.customer_id);
        if is_theirs && private_link::opens(tx.conn(), &r, now)? {
            let id = private_link::mint(tx, now, order, token, LinkFor::Mail)?;
            let url = private_link::url(base, token);
            m.body = with_link(&m.body, &url);
            return Ok(Some((Made::Order(id), url)));
        }
    }
    if let (Some(base), Some(PaperKind::Packet), Some(packet), Channel::Mail) =
        (base, m.attachment_kind, m.attachment_id, m.channel)
    {
        let date = sheets::packet(tx.conn(), PacketId(packet))?.date_id;
        if plant_link::opens(&dates::get(tx.conn(), date)?.0, now) {
            let id = plant_link::mint(tx, now, date, token, LinkFor::Mail)?;
            let url = plant_link::url(base, token);
            m.body = with_link(&m.body, &url);
            return Ok(Some((Made::Date(id), url)));
        }
    }
    m.body = without(&m.body);
    Ok(None)
}
