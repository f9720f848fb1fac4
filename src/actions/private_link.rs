//! Private links of customers: made, shown, sent, renewed, revoked, opened.
//!
//! A link opens one order and nothing else. Its token has 192 random bits and is stored as a hash, so a link that was lost cannot be
//! shown again: a new one is made beside it, and all of an order's links are revoked together.

use super::paper_again::paper_with_link;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerLinkId, ReceiptId, ReservationId};
use crate::book::links;
use crate::book::rows::links::{LinkSession, NewCustomerLink};
use crate::book::rows::selling::Reservation;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, outbox, payments, placements, reservations};
use crate::post::envelope::check_address;
use crate::post::wording::Purpose;
use crate::secret;
use crate::trade::private_link;
use crate::trade::vocabulary::{LinkFor, PaperKind};
use chrono::TimeDelta;

/// How long a browser that opened a link keeps the order open; then the link is opened again.
pub const SESSION_DAYS: i64 = 90;
/// The most orders one mail address is sent links for at once.
const MOST_ORDERS: i64 = 20;
/// How soon the same order's link is not sent again on a stranger's asking.
const ASKED_AGAIN: TimeDelta = TimeDelta::minutes(15);

/// A new random token.
///
/// # Errors
/// When the operating system has no randomness to give.
pub fn new_token() -> Result<String, Failure> {
    secret::token().map_err(Failure::Unexpected)
}

/// The address of a link. `base` has no slash at its end.
pub fn url(base: &str, token: &str) -> String {
    format!("{base}/c/{token}")
}

/// Whether the links of an order open it today; see [`private_link::opens`].
///
/// # Errors
/// The database's own.
pub fn opens(c: &mut DbConn, r: &Reservation, now: Now) -> Result<bool, Failure> {
    if r.cancelled_at.is_some() {
        return Ok(false);
    }
    Ok(private_link::opens(false, links::settled_on(c, r, now.zone)?, now.today))
}

/// Adds a link to an order whose links open it.
///
/// # Errors
/// [`Failure::Refused`] when the order is cancelled or was settled too long ago.
pub fn mint(
    tx: &mut Tx,
    now: Now,
    order: ReservationId,
    token: &str,
    made_for: LinkFor,
) -> Result<CustomerLinkId, Failure> {
    let (r, ..) = reservations::get(tx.conn(), order)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it has no private link any more."));
    }
    if !opens(tx.conn(), &r, now)? {
        return Err(Failure::refuse(
            "",
            format!(
                "This order was settled more than {} days ago. Its private links have ended.",
                private_link::OPEN_DAYS
            ),
        ));
    }
    let new = NewCustomerLink { reservation_id: order, token_hash: secret::hash(token), made_at: now.at, made_for };
    Ok(links::insert(tx, &new)?)
}

/// Makes a link to be shown to the farmer this once. With `renew` the earlier ones stop working.
///
/// # Errors
/// As [`mint`].
pub fn show_link(tx: &mut Tx, doing: &Doing, order: ReservationId, token: &str, renew: bool) -> Result<(), Failure> {
    let gone = if renew { links::revoke_all(tx, order, doing.now.at)? } else { 0 };
    mint(tx, doing.now, order, token, LinkFor::Shown)?;
    let detail = match gone {
        0 => String::new(),
        1 => "The one before it does not work any more.".into(),
        n => format!("The {n} before it do not work any more."),
    };
    let what = if renew { "The private link was renewed and shown once" } else { "A private link was shown once" };
    tell(tx, doing, order, what, detail)
}

/// Makes a link for a receipt of the order and gives back the receipt with it, to be printed or passed on: file name and PDF. `base`
/// has no slash at its end.
///
/// # Errors
/// As [`mint`]; [`Failure::NotFound`] when the receipt is not one of this order.
pub fn link_on_receipt(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    receipt: ReceiptId,
    base: &str,
    token: &str,
) -> Result<(String, Vec<u8>), Failure> {
    let invoice = placements::invoiced(tx.conn(), &[order])?.first().map(|i| i.invoice);
    let own = payments::receipts_of_order(tx.conn(), order, invoice)?;
    let Some((id, number)) = own.into_iter().find(|(id, _)| *id == receipt) else { return Err(Failure::NotFound) };
    mint(tx, doing.now, order, token, LinkFor::Shown)?;
    let paper = paper_with_link(tx.conn(), PaperKind::Receipt, id.0, &url(base, token))?;
    tell(tx, doing, order, "A private link was put on a copy of a receipt", format!("On receipt {number}."))?;
    Ok(paper)
}

/// Revokes every link of an order. Browsers that opened one are out at once.
///
/// # Errors
/// [`Failure::Refused`] when there is none.
pub fn revoke(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    if links::revoke_all(tx, order, doing.now.at)? == 0 {
        return Err(Failure::refuse("", "This order has no private link that works. Nothing was changed."));
    }
    tell(tx, doing, order, "The private link was revoked", "Nobody can open the order by it any more.".into())
}

/// Mails the customer a link; it is made as the mail leaves.
///
/// # Errors
/// [`Failure::Refused`] when the customer has no mail address or the order's links have ended.
pub fn send_link(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<(), Failure> {
    let (r, customer, _) = reservations::get(tx.conn(), order)?;
    if check_address(&customer.mail).is_err() {
        return Err(Failure::refuse(
            "",
            format!("{} has no mail address. Show a link and pass it on by phone or text message.", customer.name),
        ));
    }
    if !opens(tx.conn(), &r, doing.now)? {
        return Err(Failure::refuse("", "The private links of this order have ended. Nothing was sent."));
    }
    write_mail(tx, doing, &r)?;
    tell(tx, doing, order, "A mail with the private link was put into the Outbox", String::new())
}

/// Mails the links of every open order of this mail address, to that address only; how many mails. An order whose link was mailed in
/// the last quarter of an hour is passed over, so that nobody's mailbox is filled by a stranger.
///
/// # Errors
/// The database's own, or a message that cannot be written.
pub fn send_lost_links(tx: &mut Tx, now: Now, mail: &str) -> Result<usize, Failure> {
    let doing = Doing { now, account: None, actor: "Gambrel".into() };
    let mut sent = 0;
    for r in links::orders_of_mail(tx.conn(), mail, MOST_ORDERS)? {
        let since = now.at.plus(-ASKED_AGAIN);
        if !opens(tx.conn(), &r, now)? || outbox::written_since(tx.conn(), r.id, Purpose::PrivateLink.as_str(), since)?
        {
            continue;
        }
        write_mail(tx, &doing, &r)?;
        let detail = "It goes to the mail address in the book only.".to_string();
        tell(
            tx,
            &doing,
            r.id,
            "Somebody asked for a lost private link; a mail with it was put into the Outbox",
            detail,
        )?;
        sent += 1;
    }
    Ok(sent)
}

fn write_mail(tx: &mut Tx, doing: &Doing, r: &Reservation) -> Result<(), Failure> {
    let values = super::message_values::order_values(tx.conn(), r.id)?;
    let (customer, reservation) = (r.customer_id, Some(r.id));
    queue_message(
        tx,
        doing,
        &ToSay { customer, reservation, purpose: Purpose::PrivateLink, values, attachment: None },
    )?;
    Ok(())
}

/// The order a token opens now, and its link; `None` for a token that opens nothing. Changes nothing.
///
/// # Errors
/// The database's own.
pub fn order_of(c: &mut DbConn, at: At, token: &str) -> Result<Option<(CustomerLinkId, ReservationId)>, Failure> {
    let Some(link) = links::live(c, &secret::hash(token))? else { return Ok(None) };
    let zone = farm::get(c)?.zone();
    let (r, ..) = reservations::get(c, link.reservation_id)?;
    let now = Now { at, today: at.day(zone), zone };
    Ok(opens(c, &r, now)?.then_some((link.id, r.id)))
}

/// Opens a link in a browser: `cookie` goes into its cookie. The link stays good for other devices. `false` when the token opens nothing.
///
/// # Errors
/// The database's own.
pub fn open_link(tx: &mut Tx, at: At, token: &str, cookie: &str, form_secret: &str) -> Result<bool, Failure> {
    let Some((link_id, _)) = order_of(tx.conn(), at, token)? else { return Ok(false) };
    links::begin_session(
        tx,
        &LinkSession {
            id_hash: secret::hash(cookie),
            link_id,
            form_secret: form_secret.to_string(),
            made_at: at,
            last_seen_at: at,
            ends_at: at.plus(TimeDelta::days(SESSION_DAYS)),
        },
    )?;
    Ok(true)
}

fn tell(tx: &mut Tx, doing: &Doing, order: ReservationId, line: &str, detail: String) -> Result<(), Failure> {
    let (_, customer, _) = reservations::get(tx.conn(), order)?;
    let told =
        Line { line: line.into(), detail, customer: Some(customer.id), reservation: Some(order), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}
