//! A stranger asks for a share on the farm's page: kept until the mail address is confirmed by a link, or forgotten.
//!
//! The mail to an address that nobody has confirmed holds nothing that was typed, so that it cannot carry somebody's words to others. How
//! many wait, of one address and of all, is bounded; an address that has enough gets no further mail, and the answer does not say so.

use super::edit_wording::wording_of;
use super::message_values::price_of;
use super::queue_message::common_values;
use super::{Doing, Failure, Problems};
use crate::book::ids::{DateId, MessageId, OfferingId, PriceId, RequestId};
use crate::book::rows::outbox::NewMessage;
use crate::book::rows::requests::NewReserveRequest;
use crate::book::store::Tx;
use crate::book::{farm, offerings, outbox, public_page, requests, sale_terms};
use crate::post::envelope::{check_address, new_message_id};
use crate::post::wording::{Purpose, Values};
use crate::trade::requests::{CONFIRM_HOURS, MOST_OF_ONE, MOST_UNCONFIRMED, Requests};
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::Channel;
use chrono::TimeDelta;

/// The most dates a request may name.
pub const MOST_DATES: usize = 4;
/// The longest note, in characters.
pub const LONGEST_NOTE: usize = 600;
/// The longest name of company, in characters.
pub const LONGEST_COMPANY: usize = 120;

/// What a stranger asks for.
#[derive(Debug, Clone)]
pub struct Asking {
    /// Of what.
    pub offering: OfferingId,
    /// How much.
    pub size: Size,
    /// Which quarter, where fore and hind quarters are sold.
    pub part: Option<Part>,
    /// The row of the price list that the page showed.
    pub price: PriceId,
    /// Name, 1 to 120 characters.
    pub name: String,
    /// Mail address.
    pub mail: String,
    /// Phone, or empty.
    pub phone: String,
    /// Address on several lines, or empty.
    pub address: String,
    /// Dates that would suit, best first.
    pub dates: Vec<DateId>,
    /// Whether no other date suits.
    pub only_these: bool,
    /// With whom, in free words; the farmer makes the group.
    pub together: String,
    /// A note.
    pub note: String,
    /// The number of the version of the terms that was read and accepted; 0 where the farm has none.
    pub terms: i64,
}

/// Keeps the request and writes the mail that confirms its address. `None` when this address has enough requests that wait: then nothing is
/// kept, and whoever asked is told the same as everybody.
///
/// # Errors
/// [`Failure::Refused`] when requests are off, strangers do not see the offering, the share, price, terms or dates are not what the page showed, or too many wait.
pub fn ask_to_reserve(tx: &mut Tx, doing: &Doing, input: &Asking) -> Result<Option<RequestId>, Failure> {
    let farm = farm::get(tx.conn())?;
    if farm.requests == Requests::Off {
        return Err(Failure::refuse("", "Shares cannot be asked for here at the moment. Please call or write to us."));
    }
    let o = offerings::get(tx.conn(), input.offering)?;
    // Whoever calls this: what strangers do not see, they cannot ask for.
    if !public_page::shows(tx.conn(), o.id)? {
        return Err(Failure::refuse("", "This is not on our page at the moment. Please call or write to us."));
    }
    let mut problems = Problems::default();
    if o.closed_at.is_some() {
        problems.add("share", "This is not for sale any more. Please call or write to us.");
    } else if !o.kinds().contains(&(input.size, input.part)) {
        problems.add("share", "Choose one of the shares on this page.");
    }
    let price = offerings::price_on(tx.conn(), o.id, input.size, doing.now.today)?.filter(|p| p.id == input.price);
    if price.is_none() {
        problems.add("share", "The price was changed while you had this page open. Look at it and choose once more.");
    }
    let terms = sale_terms::in_force(tx.conn())?;
    if terms.as_ref().map_or(0, |t| t.number) != input.terms {
        problems.add("terms", "The terms were changed while you had this page open. Read them once more.");
    }
    for (n, date) in input.dates.iter().enumerate() {
        let field = format!("choice_{}", n.saturating_add(1));
        if input.dates.iter().take(n).any(|other| other == date) {
            problems.add(field, "This date is chosen above already. Choose another one, or none.");
        } else if let Err(Failure::Refused(why)) = super::change_order::can_be_wished_for(tx, doing, Some(*date)) {
            for one in why.0 {
                problems.add(field.clone(), format!("{}.", one.sentence));
            }
        }
    }
    if input.dates.len() > MOST_DATES {
        problems.add("choice_2", format!("Choose at most {MOST_DATES} dates."));
    }
    problems.check()?;
    let Some(price) = price else { return Err(Failure::NotFound) };
    if requests::unconfirmed(tx.conn())? >= MOST_UNCONFIRMED {
        let says = "More requests wait to be confirmed than we can keep. Please try again tomorrow, or call us.";
        return Err(Failure::refuse("", says));
    }
    let mail = check_address(&input.mail).map_err(|why| Failure::refuse("mail", why))?.to_lowercase();
    if requests::open_of_mail(tx.conn(), &mail)? >= MOST_OF_ONE {
        return Ok(None);
    }
    let new = NewReserveRequest {
        offering_id: o.id,
        size: input.size,
        part: input.part,
        name: input.name.clone(),
        mail: mail.clone(),
        phone: input.phone.clone(),
        address: input.address.clone(),
        only_these: input.only_these && !input.dates.is_empty(),
        together: input.together.clone(),
        note: input.note.clone(),
        price_basis: price.basis,
        rate: price.rate,
        flat_price: price.flat_price,
        deposit: price.deposit,
        terms_id: terms.map(|t| t.id),
        message_id: None,
        asked_at: doing.now.at,
        confirm_by: doing.now.at.plus(TimeDelta::hours(CONFIRM_HOURS)),
    };
    let id = requests::insert(tx, &new, &input.dates)?;
    let values = Values::new()
        .with("share", format!("{} {}", input.size.label(), o.species.label()))
        .with("offering", format!("{}, {}", o.species.label(), o.season))
        .with("price", price_of(price.basis, price.rate, price.flat_price, farm.unit))
        .with("hours", CONFIRM_HOURS.to_string());
    let message = write_to(tx, doing, ("", &mail), Purpose::RequestConfirm, &values)?;
    requests::mailed_by(tx, id, message)?;
    Ok(Some(id))
}

/// Writes a mail to somebody who is no customer.
///
/// # Errors
/// [`Failure::Refused`] when a placeholder of the wording has nothing to stand for.
pub fn write_to(
    tx: &mut Tx,
    doing: &Doing,
    (name, mail): (&str, &str),
    purpose: Purpose,
    values: &Values,
) -> Result<MessageId, Failure> {
    let farm = farm::get(tx.conn())?;
    let values = values.clone().overlaid(&common_values(&farm, name));
    let wording = wording_of(tx.conn(), purpose)?.wording;
    let words = wording.fill(purpose, &values).map_err(|fault| {
        Failure::refuse("", format!("The message “{}” cannot be written. {}", purpose.label(), fault.sentence))
    })?;
    let to_name = if name.is_empty() { mail } else { name };
    let new = NewMessage {
        customer_id: None,
        reservation_id: None,
        purpose: purpose.as_str().to_owned(),
        channel: Channel::Mail,
        to_name: to_name.to_owned(),
        to_address: mail.to_owned(),
        subject: words.subject,
        body: words.body,
        attachment_kind: None,
        attachment_id: None,
        message_id: new_message_id(&farm.mail).map_err(Failure::Unexpected)?,
        queued_at: doing.now.at,
        next_try_at: Some(doing.now.at),
        tries: 0,
        last_error: None,
        sent_at: None,
        failed_at: None,
        handed_over_at: None,
    };
    Ok(outbox::add(tx, &new)?)
}
