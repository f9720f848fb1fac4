//! Telling the owners of a date's shares which day it is, and where.

use super::edit_wording::wording_of;
use super::message_values::order_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::ids::DateId;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, dates, outbox, placements};
use crate::post::wording::Purpose;

/// Puts a message to every owner on a date into the outbox; whoever has the very same words already is passed over. Returns
/// how many messages were written.
///
/// # Errors
/// [`Failure::Refused`] when the date was cancelled or the wording cannot be filled; [`Failure::NotFound`] when there is no
/// such date.
pub fn tell_owners(tx: &mut Tx, doing: &Doing, id: DateId) -> Result<usize, Failure> {
    let (date, _) = dates::get(tx.conn(), id)?;
    if date.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This date was cancelled. Put the head on another one first."));
    }
    let mut head = animals::on_date(tx.conn(), id)?;
    head.retain(|a| a.lost_on.is_none());
    let head: Vec<_> = head.into_iter().map(|a| a.id).collect();
    let shares = placements::shares_on(tx.conn(), &head)?;
    let purpose = Purpose::DateAssigned;
    let wording = wording_of(tx.conn(), purpose)?.wording;
    let mut told = 0;
    for share in shares {
        let values = order_values(tx.conn(), share.reservation)?;
        let words = wording
            .fill(purpose, &values)
            .map_err(|fault| Failure::refuse("", format!("The message cannot be written. {}", fault.sentence)))?;
        if outbox::was_said(tx.conn(), share.reservation, purpose.as_str(), &[&words.body, &words.short])? {
            continue;
        }
        let (customer, reservation) = (share.customer, Some(share.reservation));
        queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
        let line = Line {
            line: format!("A message about the processing date to {} was put into the outbox", share.name),
            customer: Some(customer),
            reservation,
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
        told += 1;
    }
    Ok(told)
}
