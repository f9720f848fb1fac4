//! Taking a reservation: one customer's claim on one share, with price and deposit locked.

use super::add_customer::{CustomerIn, add_customer};
use super::{Doing, Failure};
use crate::book::ids::{CustomerId, DateId, OfferingId, ReservationId};
use crate::book::rows::people::Customer;
use crate::book::rows::selling::{NewReservation, Offering};
use crate::book::schema::{customer, offering};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, offerings, reservations};
use crate::trade::number::Series;
use crate::trade::share::{Part, Size, sold_as};
use crate::trade::vocabulary::QuarterPart;
use chrono::Datelike;
use diesel::prelude::*;

/// Who reserves.
#[derive(Debug, Clone)]
pub enum Who {
    /// Somebody in the book.
    Known(CustomerId),
    /// Somebody new.
    New(CustomerIn),
}

/// What is reserved.
#[derive(Debug, Clone)]
pub struct TakeReservation {
    /// Who.
    pub who: Who,
    /// Of what.
    pub offering: OfferingId,
    /// How much.
    pub size: Size,
    /// Which quarter, where the offering sells fore and hind quarters.
    pub part: Option<Part>,
    /// Wishes in words.
    pub wishes: String,
    /// The date the customer would like.
    pub preferred_date: Option<DateId>,
}

/// Takes a reservation. When no head has room for it, it goes to the waiting list.
///
/// # Errors
/// [`Failure::Refused`] when the offering is closed, does not sell that share, or has no price for it today.
pub fn take_reservation(tx: &mut Tx, doing: &Doing, input: &TakeReservation) -> Result<ReservationId, Failure> {
    let c = tx.conn();
    let o: Offering = offering::table.find(input.offering).select(Offering::as_select()).first(c)?;
    if o.closed_at.is_some() {
        return Err(Failure::refuse(
            "offering",
            "This offering is closed. Open it again on its page, or choose another.",
        ));
    }
    let sold = match input.size {
        Size::Whole => o.sells_whole,
        Size::Half => o.sells_half,
        Size::Quarter => o.sells_quarter,
    };
    if !sold {
        return Err(Failure::refuse(
            "size",
            format!("This offering does not sell a {} {}.", input.size.label(), o.species.label()),
        ));
    }
    let part = match (input.size, o.quarter_part, input.part) {
        (Size::Whole | Size::Half, ..) => None,
        (Size::Quarter, QuarterPart::Split, _) => Some(Part::Split),
        (Size::Quarter, QuarterPart::ForeHind, Some(part @ (Part::Fore | Part::Hind))) => Some(part),
        (Size::Quarter, QuarterPart::ForeHind, _) => {
            return Err(Failure::refuse("part", "Choose the forequarter or the hindquarter."));
        }
    };
    super::change_order::can_be_wished_for(tx, doing, input.preferred_date)?;
    let c = tx.conn();
    let price = offerings::price_on(c, o.id, input.size, doing.now.today)?.ok_or_else(|| {
        Failure::refuse("size", "There is no price for this share today. Set one on the offering’s page first.")
    })?;
    let customer_id = match &input.who {
        Who::Known(id) => *id,
        Who::New(new) => add_customer(tx, doing, new)?,
    };
    let c = tx.conn();
    let person: Customer = customer::table.find(customer_id).select(Customer::as_select()).first(c)?;
    let taken = offerings::taken(c, &[o.id])?.remove(&o.id).unwrap_or_default();
    let waits = !taken.sold.and(input.size, part, 1).fits(o.head_count);
    let year = doing.now.today.year();
    let count = counters::next(tx, &Series::Order.counter(year))?;
    let number = Series::Order.number(year, count);
    let id = reservations::insert(
        tx,
        &NewReservation {
            number,
            customer_id,
            offering_id: o.id,
            size: input.size,
            part,
            taken_at: doing.now.at,
            price_basis: price.basis,
            rate: price.rate,
            flat_price: price.flat_price,
            deposit_asked: price.deposit,
            price_locked_on: doing.now.today,
            wishes: input.wishes.clone(),
            preferred_date_id: input.preferred_date,
            waiting_since: waits.then_some(doing.now.at),
            cancelled_at: None,
            cancel_reason: String::new(),
            cancel_deposit: None,
            collected_at: None,
        },
    )?;
    let unit = farm::get(tx.conn())?.unit;
    let (r, _, _) = reservations::get(tx.conn(), id)?;
    let locked = super::message_values::price_words(&r, unit);
    let wishes = if input.wishes.is_empty() { String::new() } else { format!(" “{}”", input.wishes) };
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!(
                "{} reserved a {}, {}{}",
                person.name,
                sold_as(input.size, part, o.species).to_lowercase(),
                o.season,
                if waits { ", on the waiting list" } else { "" }
            ),
            detail: format!("Price locked at {locked}, deposit {}.{wishes}", price.deposit.dollars()),
            customer: Some(customer_id),
            reservation: Some(id),
            ..Line::default()
        },
    )?;
    Ok(id)
}
