//! Confirming the mail address of a request by the link in its mail. Looking at the link changes nothing; a button confirms.
//!
//! A confirmed request goes onto the farmer's list, or becomes an order by itself where the farm wants that.

use super::answer_request::{as_stored, take};
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{MessageId, RequestId};
use crate::book::requests::{self, Asked};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, offerings};
use crate::secret;
use crate::trade::requests::{self as rules, Requests};
use crate::trade::vocabulary::Channel;

/// The address of a link. `base` has no slash at its end.
pub fn url(base: &str, token: &str) -> String {
    format!("{base}/farm/confirm/{token}")
}

/// A link for the mail that confirms a request, made as it leaves; `None` when the request is confirmed already or gone.
///
/// # Errors
/// The database's own.
pub fn link_for_mail(
    tx: &mut Tx,
    at: At,
    message: MessageId,
    (base, channel): (Option<&str>, Channel),
    token: &str,
) -> Result<Option<String>, Failure> {
    let (Some(base), Channel::Mail) = (base, channel) else { return Ok(None) };
    let Some(id) = requests::of_message(tx.conn(), message, at)? else { return Ok(None) };
    add_link(tx, at, id, token)?;
    Ok(Some(url(base, token)))
}

/// Adds a link to a request.
///
/// # Errors
/// The database's own.
pub fn add_link(tx: &mut Tx, at: At, id: RequestId, token: &str) -> Result<(), Failure> {
    Ok(requests::add_link(tx, id, &secret::hash(token), at)?)
}

/// The request a link is of; `None` for a link that opens nothing. Changes nothing.
///
/// # Errors
/// The database's own.
pub fn request_of(c: &mut DbConn, at: At, token: &str) -> Result<Option<Asked>, Failure> {
    Ok(requests::by_link(c, &secret::hash(token), at)?)
}

/// Confirms the address. Done again it changes nothing.
///
/// # Errors
/// [`Failure::NotFound`] for a link that opens nothing.
pub fn confirm_request(tx: &mut Tx, doing: &Doing, token: &str) -> Result<(), Failure> {
    let (request, o) = request_of(tx.conn(), doing.now.at, token)?.ok_or(Failure::NotFound)?;
    if !requests::confirm(tx, request.id, doing.now.at)? {
        return Ok(());
    }
    let line = format!("{} asks for a {}, {}", request.name, request.size.of(o.species).to_lowercase(), o.season);
    let told = Line { line, detail: "The mail address is confirmed.".into(), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    if is_taken_by_itself(tx, doing, &(request.clone(), o))? {
        let by_itself = Doing { account: None, actor: super::keep_time::BY_ITSELF.into(), ..doing.clone() };
        take(tx, &by_itself, request.id, None)?;
    }
    Ok(())
}

fn is_taken_by_itself(tx: &mut Tx, doing: &Doing, (request, o): &Asked) -> Result<bool, Failure> {
    let how = farm::get(tx.conn())?.requests;
    // What was closed, or has no price any more, is for the farmer.
    if how != Requests::Automatic || o.closed_at.is_some() || !o.kinds().contains(&(request.size, request.part)) {
        return Ok(false);
    }
    let Some(price) = offerings::price_on(tx.conn(), o.id, request.size, doing.now.today)? else { return Ok(false) };
    let taken = offerings::taken(tx.conn(), &[o.id])?.remove(&o.id).unwrap_or_default();
    let asked = rules::Asked {
        same_price: as_stored(request) == (price.basis, price.rate, price.flat_price, price.deposit),
        fits: taken.sold.and(request.size, request.part, 1).fits(o.head_count),
        others_wait: taken.waiting > 0,
    };
    Ok(rules::is_accepted_by_itself(how, asked))
}

/// Forgets the requests whose address was not confirmed in time; how many.
///
/// # Errors
/// The database's own.
pub fn forget_unconfirmed(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    Ok(requests::forget_unconfirmed(tx, doing.now.at)?)
}
