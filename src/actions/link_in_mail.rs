//! The private link of a mail, made as the mail leaves: only then is its token known, and only the mail has it.

use super::{Failure, private_link};
use crate::book::at::Now;
use crate::book::ids::CustomerLinkId;
use crate::book::reservations;
use crate::book::rows::outbox::Message;
use crate::book::store::Tx;
use crate::post::private_link::{is_wanted, with_link, without};
use crate::trade::vocabulary::{Channel, LinkFor};

/// Puts a fresh link into a message that wants one, or takes the paragraph out where there can be none: no public address, no order,
/// or an order whose links have ended. Returns the link made.
///
/// # Errors
/// The database's own.
pub fn put_link_in(
    tx: &mut Tx,
    now: Now,
    m: &mut Message,
    base: Option<&str>,
    token: &str,
) -> Result<Option<CustomerLinkId>, Failure> {
    if !is_wanted(&m.body) {
        return Ok(None);
    }
    if let (Some(base), Some(order), Channel::Mail) = (base, m.reservation_id, m.channel) {
        let (r, ..) = reservations::get(tx.conn(), order)?;
        if private_link::opens(tx.conn(), &r, now)? {
            let id = private_link::mint(tx, now, order, token, LinkFor::Mail)?;
            m.body = with_link(&m.body, &private_link::url(base, token));
            return Ok(Some(id));
        }
    }
    m.body = without(&m.body);
    Ok(None)
}
