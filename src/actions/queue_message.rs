//! Putting a message to a customer into the outbox, in the transaction of what it tells about.

use super::edit_wording::wording_of;
use super::{Doing, Failure};
use crate::book::farm;
use crate::book::ids::{CustomerId, MessageId, ReservationId};
use crate::book::outbox;
use crate::book::rows::farm::Farm;
use crate::book::rows::outbox::NewMessage;
use crate::book::rows::people::Customer;
use crate::book::schema::customer;
use crate::book::store::Tx;
use crate::post::by_hand::text_number;
use crate::post::envelope::{check_address, new_message_id};
use crate::post::phrases::{how_to_pay, signature};
use crate::post::placeholders::LINK;
use crate::post::private_link;
use crate::post::wording::{Purpose, Values};
use crate::trade::vocabulary::{Channel, PaperKind};
use diesel::prelude::*;

/// What is to be said to whom.
#[derive(Debug, Clone)]
pub struct ToSay {
    /// The customer.
    pub customer: CustomerId,
    /// The order it is about, if it is about one.
    pub reservation: Option<ReservationId>,
    /// What for; it decides the wording.
    pub purpose: Purpose,
    /// What the placeholders stand for. Customer, farm, signature, and how to pay are put in from the book.
    pub values: Values,
    /// The paper that goes with it.
    pub attachment: Option<(PaperKind, i64)>,
}

/// Where a message to this customer goes: mail if there is an address, else a text message if there is a number, else a letter.
pub fn channel_for(customer: &Customer) -> (Channel, String) {
    if let Ok(address) = check_address(&customer.mail) {
        (Channel::Mail, address)
    } else if text_number(&customer.phone).is_ok() {
        (Channel::Text, customer.phone.trim().to_owned())
    } else {
        (Channel::Letter, customer.address.trim().to_owned())
    }
}

/// What every wording can use: customer, farm, signature, how to pay, and the place of the private link.
pub fn common_values(farm: &Farm, customer_name: &str) -> Values {
    Values::new()
        .with("customer", customer_name)
        .with("farm", farm.name.as_str())
        .with("signature", signature(&farm.contact_name, &farm.name, &farm.phone, &farm.mail))
        .with(LINK.name, private_link::MARK)
        .with("how_to_pay", how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words))
}

/// Writes the message into the outbox. Mail is due at once; text messages and letters wait for the farmer's hand.
///
/// # Errors
/// [`Failure::Refused`] when a placeholder of the wording has nothing to stand for.
pub fn queue_message(tx: &mut Tx, doing: &Doing, say: &ToSay) -> Result<MessageId, Failure> {
    queue_message_by(tx, doing, say, None)
}

/// The same by a channel that somebody chose: a letter for a customer who has mail.
///
/// # Errors
/// As [`queue_message`].
pub fn queue_message_by(tx: &mut Tx, doing: &Doing, say: &ToSay, by: Option<Channel>) -> Result<MessageId, Failure> {
    let c = tx.conn();
    let farm = farm::get(c)?;
    let customer: Customer = customer::table.find(say.customer).select(Customer::as_select()).first(c)?;
    let wording = wording_of(c, say.purpose)?.wording;
    let values = say.values.clone().overlaid(&common_values(&farm, &customer.name));
    let words = wording.fill(say.purpose, &values).map_err(|fault| {
        Failure::refuse("", format!("The message “{}” cannot be written. {}", say.purpose.label(), fault.sentence))
    })?;
    let (channel, to_address) = match by {
        Some(Channel::Letter) => (Channel::Letter, customer.address.trim().to_owned()),
        _ => channel_for(&customer),
    };
    let now = doing.now.at;
    let id = outbox::add(
        tx,
        &NewMessage {
            customer_id: Some(customer.id),
            reservation_id: say.reservation,
            purpose: say.purpose.as_str().to_owned(),
            channel,
            to_name: customer.name,
            to_address,
            subject: words.subject,
            body: if channel == Channel::Text { words.short } else { words.body },
            attachment_kind: say.attachment.map(|(kind, _)| kind),
            attachment_id: say.attachment.map(|(_, id)| id),
            message_id: new_message_id(&farm.mail).map_err(Failure::Unexpected)?,
            queued_at: now,
            next_try_at: (channel == Channel::Mail).then_some(now),
            tries: 0,
            last_error: None,
            sent_at: None,
            failed_at: None,
            handed_over_at: None,
        },
    )?;
    Ok(id)
}
