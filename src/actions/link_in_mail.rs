//! The private link of a mail, made as the mail leaves: only then is its token known, and only the mail has it, in its words and on
//! the receipt that goes with it.

use super::{Failure, private_link};
use crate::book::at::Now;
use crate::book::ids::CustomerLinkId;
use crate::book::reservations;
use crate::book::rows::outbox::Message;
use crate::book::store::Tx;
use crate::post::private_link::{is_wanted, with_link, without};
use crate::trade::vocabulary::{Channel, LinkFor, PaperKind};

/// Whether a message is to carry a private link: in its words, or on the receipt that goes with it.
pub fn wants_link(m: &Message) -> bool {
    is_wanted(&m.body) || (m.attachment_kind == Some(PaperKind::Receipt) && m.reservation_id.is_some())
}

/// Puts a fresh link into a message that wants one, or takes the paragraph out where there can be none: no public address, no order,
/// or an order whose links have ended. A mail with a receipt gets one for the receipt even where its words want none. Returns the
/// link made, and its address.
///
/// # Errors
/// The database's own.
pub fn put_link_in(
    tx: &mut Tx,
    now: Now,
    m: &mut Message,
    base: Option<&str>,
    token: &str,
) -> Result<Option<(CustomerLinkId, String)>, Failure> {
    if !wants_link(m) {
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
            return Ok(Some((id, url)));
        }
    }
    m.body = without(&m.body);
    Ok(None)
}
