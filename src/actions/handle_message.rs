//! What the farmer does with a message in the outbox: send it again, mark it as handed over, download it.

use super::link_in_mail::put_link_in;
use super::queue_message::channel_for;
use super::send_mail::outgoing;
use super::{Doing, Failure};
use crate::book::calendars;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::ids::MessageId;
use crate::book::outbox::{self, Standing};
use crate::book::rows::outbox::{Message, NewMessage};
use crate::book::rows::people::Customer;
use crate::book::schema::customer;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::envelope::new_message_id;
use crate::trade::vocabulary::Channel;
use diesel::prelude::*;

/// Sends mail again, to the address the customer has now. What waits or failed starts over under its own Message-ID; what was
/// sent or handed over goes out as a copy with a new one, because mail programs drop what they have seen. Returns the message
/// that is now on its way.
///
/// # Errors
/// [`Failure::Refused`] when the customer has no mail address; [`Failure::Stale`] when somebody changed it since `version`.
pub fn resend(tx: &mut Tx, doing: &Doing, id: MessageId, version: i64) -> Result<MessageId, Failure> {
    let m = outbox::get(tx.conn(), id)?;
    if m.version != version {
        return Err(Failure::Stale);
    }
    let (to_name, to_address) = reader_now(tx.conn(), &m)?;
    let id = match m.standing() {
        Standing::ByHand => {
            return Err(Failure::refuse(
                "",
                "This goes out by hand. Send it from your phone or print it, then mark it as handed over.",
            ));
        }
        Standing::Waiting(_) | Standing::Failed(_) => {
            if !outbox::start_over(tx, id, version, (&to_name, &to_address), doing.now.at)? {
                return Err(Failure::Stale);
            }
            id
        }
        Standing::Sent(_) | Standing::HandedOver(_) => {
            let farm = farm::get(tx.conn())?;
            outbox::add(
                tx,
                &NewMessage {
                    customer_id: m.customer_id,
                    reservation_id: m.reservation_id,
                    purpose: m.purpose.clone(),
                    channel: Channel::Mail,
                    to_name,
                    to_address,
                    subject: m.subject.clone(),
                    body: m.body.clone(),
                    attachment_kind: m.attachment_kind,
                    attachment_id: m.attachment_id,
                    message_id: new_message_id(&farm.mail).map_err(Failure::Unexpected)?,
                    queued_at: doing.now.at,
                    next_try_at: Some(doing.now.at),
                    tries: 0,
                    last_error: None,
                    sent_at: None,
                    failed_at: None,
                    handed_over_at: None,
                },
            )?
        }
    };
    if id != m.id {
        calendars::copy(tx, m.id, id)?;
    }
    tell(tx, doing, &m, format!("“{}” is to be sent again.", m.subject))?;
    Ok(id)
}

/// Name and address of the reader as they are now.
fn reader_now(c: &mut DbConn, m: &Message) -> Result<(String, String), Failure> {
    let Some(customer_id) = m.customer_id else { return Ok((m.to_name.clone(), m.to_address.clone())) };
    let customer: Customer = customer::table.find(customer_id).select(Customer::as_select()).first(c)?;
    match (channel_for(&customer), m.channel) {
        ((Channel::Mail, address), _) => Ok((customer.name, address)),
        (_, Channel::Mail) => Err(Failure::refuse(
            "",
            format!(
                "{} has no mail address that works. Put one in with the customer, then send this again.",
                customer.name
            ),
        )),
        _ => Ok((m.to_name.clone(), m.to_address.clone())),
    }
}

/// Notes that the reader has it another way: by text message, on paper, or from the downloaded file. It is not sent any more.
///
/// # Errors
/// [`Failure::Refused`] when it was sent already; [`Failure::Stale`] when somebody changed it since `version`.
pub fn mark_handed_over(tx: &mut Tx, doing: &Doing, id: MessageId, version: i64) -> Result<(), Failure> {
    let m = outbox::get(tx.conn(), id)?;
    match m.standing() {
        Standing::Sent(_) => return Err(Failure::refuse("", "This was sent already.")),
        Standing::HandedOver(_) => return Ok(()),
        Standing::Waiting(_) | Standing::ByHand | Standing::Failed(_) => {}
    }
    if !outbox::mark_handed_over(tx, id, version, doing.now.at)? {
        return Err(Failure::Stale);
    }
    tell(tx, doing, &m, format!("“{}” was handed over to {}.", m.subject, m.to_name))
}

/// The message as an `.eml` file: its name and the bytes that the worker would send.
///
/// # Errors
/// [`Failure::Refused`] when it is no mail, or the farm has no mail address yet.
pub fn download(c: &mut DbConn, id: MessageId, mail_from: Option<&str>) -> Result<(String, Vec<u8>), Failure> {
    let m = outbox::get(c, id)?;
    if m.channel != Channel::Mail {
        return Err(Failure::refuse("", "Only mail can be downloaded as a mail file."));
    }
    let bytes = outgoing(c, &m, mail_from, None)?.eml().map_err(|e| Failure::refuse("", e.to_string()))?;
    Ok((format!("message-{id}.eml"), bytes))
}

/// The message as an `.eml` file with a fresh private link in it: `token` is the link's, `base` the address people type.
///
/// # Errors
/// As [`download`].
pub fn download_with_link(
    tx: &mut Tx,
    doing: &Doing,
    id: MessageId,
    mail_from: Option<&str>,
    base: &str,
    token: &str,
) -> Result<(String, Vec<u8>), Failure> {
    let mut m = outbox::get(tx.conn(), id)?;
    if m.channel != Channel::Mail {
        return Err(Failure::refuse("", "Only mail can be downloaded as a mail file."));
    }
    let link = put_link_in(tx, doing.now, &mut m, Some(base), token)?.map(|(_, url)| url);
    let bytes =
        outgoing(tx.conn(), &m, mail_from, link.as_deref())?.eml().map_err(|e| Failure::refuse("", e.to_string()))?;
    if link.is_some() {
        tell(tx, doing, &m, format!("“{}” was downloaded with a private link in it.", m.subject))?;
    }
    Ok((format!("message-{id}.eml"), bytes))
}

fn tell(tx: &mut Tx, doing: &Doing, m: &Message, line: String) -> Result<(), Failure> {
    let line = Line { line, customer: m.customer_id, reservation: m.reservation_id, ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}
