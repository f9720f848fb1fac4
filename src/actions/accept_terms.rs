//! That a customer accepted the farm's terms: on the order's page, or as the farmer noted it.

use super::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::rows::requests::{SaleTerms, TermsAcceptance};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{reservations, sale_terms};
use crate::trade::dates;
use crate::trade::sale_terms::AcceptedBy;
use chrono::NaiveDate;

/// Accepts the version with this number, which the customer has read, on the order's page.
///
/// # Errors
/// [`Failure::Refused`] when the words changed since the page was opened, or the order is cancelled.
pub fn accept_by_link(tx: &mut Tx, doing: &Doing, order: ReservationId, number: i64) -> Result<(), Failure> {
    let terms = sale_terms::in_force(tx.conn())?.filter(|t| t.number == number).ok_or_else(|| {
        Failure::refuse("accept", "The terms were changed while you had this page open. Read them once more.")
    })?;
    accept(tx, doing, order, &terms, AcceptedBy::Link, doing.now.today)
}

/// Notes that the customer was told this version while ordering, in person or on the phone, and agreed.
///
/// # Errors
/// [`Failure::Refused`] when the words changed since the page was opened.
pub fn accept_spoken(tx: &mut Tx, doing: &Doing, order: ReservationId, number: i64) -> Result<(), Failure> {
    let terms = sale_terms::in_force(tx.conn())?.filter(|t| t.number == number).ok_or_else(|| {
        Failure::refuse(
            "agreed",
            "The terms were changed while you had this page open. Look at them in Settings, then tick it again.",
        )
    })?;
    accept(tx, doing, order, &terms, AcceptedBy::Person, doing.now.today)
}

/// Notes that the customer accepted on paper or in person on a day: the words that were in force on it.
///
/// # Errors
/// [`Failure::Refused`] when there were no terms on that day, it is still to come, or the order is cancelled.
pub fn note_acceptance(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    way: AcceptedBy,
    on: NaiveDate,
) -> Result<(), Failure> {
    if on > doing.now.today {
        return Err(Failure::refuse("accepted_on", "That day is still to come. Write the day they were accepted."));
    }
    let versions = sale_terms::all(tx.conn())?;
    let Some(terms) = versions.iter().find(|t| t.made_on <= on).filter(|t| !t.body.is_empty()) else {
        let first = versions.iter().rev().find(|t| !t.body.is_empty());
        return Err(Failure::refuse(
            "accepted_on",
            match first {
                Some(t) => format!(
                    "Your terms are of {}, and on this day none were in force. Write a later day.",
                    dates::full(t.made_on)
                ),
                None => "You have no terms yet. Write them in Settings first.".into(),
            },
        ));
    };
    accept(tx, doing, order, terms, way, on)
}

/// Keeps it; a second time changes nothing.
///
/// # Errors
/// [`Failure::Refused`] when the order is cancelled.
pub fn accept(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    terms: &SaleTerms,
    way: AcceptedBy,
    on: NaiveDate,
) -> Result<(), Failure> {
    let (r, customer, _) = reservations::get(tx.conn(), order)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so there is nothing to accept."));
    }
    if sale_terms::accepted(tx.conn(), order, customer.id)?.is_some() {
        return Ok(());
    }
    let new = TermsAcceptance {
        reservation_id: order,
        customer_id: customer.id,
        terms_id: terms.id,
        way,
        accepted_on: on,
        noted_by: doing.actor.clone(),
        noted_at: doing.now.at,
    };
    sale_terms::accept(tx, &new)?;
    let told = Line {
        line: format!("{} accepted the terms, version {}", customer.name, terms.number),
        detail: format!("On {}, {}.", dates::full(on), way.label()),
        customer: Some(customer.id),
        reservation: Some(order),
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}
