//! A customer corrects phone, mail and address by private link.

use super::add_customer::{CustomerIn, change_customer};
use super::message_values::order_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::reservations;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::envelope::check_address;
use crate::post::wording::Purpose;

/// How a customer is reached.
#[derive(Debug, Clone)]
pub struct Contact {
    /// Mail address; may be empty.
    pub mail: String,
    /// Phone; may be empty.
    pub phone: String,
    /// Postal address; may be empty.
    pub address: String,
}

/// Corrects the contact of an order's customer; the name and the farm's own notes stay. When the mail address changes, the old one is told:
/// whoever holds a link that is not theirs cannot turn the mail aside in silence.
///
/// # Errors
/// [`Failure::Refused`] when neither mail nor phone is left; [`Failure::Stale`] when somebody saved since `version`.
pub fn correct_contact(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    version: i64,
    input: &Contact,
) -> Result<(), Failure> {
    if input.mail.trim().is_empty() && input.phone.trim().is_empty() {
        return Err(Failure::refuse("phone", "Leave us a mail address or a phone number, so that we can reach you."));
    }
    let (_, before, _) = reservations::get(tx.conn(), order)?;
    if before.version != version {
        return Err(Failure::Stale);
    }
    let moved = before.mail != input.mail.trim().to_lowercase();
    if moved && check_address(&before.mail).is_ok() {
        let values = order_values(tx.conn(), order)?;
        let (customer, reservation) = (before.id, Some(order));
        let purpose = Purpose::ContactChanged;
        queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
    }
    let next = CustomerIn {
        name: before.name,
        mail: input.mail.clone(),
        phone: input.phone.clone(),
        address: input.address.clone(),
        notes: before.notes,
        no_offers: before.no_offers,
    };
    change_customer(tx, doing, before.id, version, &next)?;
    let line = "The customer corrected phone, mail or address".to_string();
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, reservation: Some(order), ..Line::default() })?;
    Ok(())
}
