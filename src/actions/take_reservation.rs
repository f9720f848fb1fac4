//! Taking a reservation: one customer's claim on one share, with price and deposit locked.

use super::add_customer::{CustomerIn, add_customer};
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::ids::{CustomerId, DateId, OfferingId, ReservationId};
use crate::book::rows::selling::{NewReservation, Offering, Price};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, offerings, people, reservations};
use crate::trade::money::Rate;
use crate::trade::number::Series;
use crate::trade::room::Sold;
use crate::trade::share::{Part, Size, sold_as};
use crate::trade::vocabulary::QuarterPart;
use crate::trade::weight::Unit;
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

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

/// What was agreed before the book knew of it, from a list that was kept elsewhere.
#[derive(Debug, Clone, Copy)]
pub struct Agreed {
    /// The day it was taken; its price is locked as of that day.
    pub on: NaiveDate,
    /// The instant it counts from, on that day.
    pub at: At,
    /// The price that was agreed: one of the price list that held from that day or before. None: the one in force that day.
    pub price: Option<Rate>,
    /// It is on the waiting list, whether or not there is room.
    pub waits: bool,
}

/// What reservations are taken off: read once, and kept up to date while one after the other is taken in a transaction.
#[derive(Debug, Default)]
pub struct Shelf {
    offerings: HashMap<OfferingId, (Offering, Vec<Price>, Sold)>,
    unit: Option<Unit>,
}

impl Shelf {
    fn offering(&mut self, tx: &mut Tx, id: OfferingId) -> Result<&mut (Offering, Vec<Price>, Sold), Failure> {
        match self.offerings.entry(id) {
            Entry::Occupied(there) => Ok(there.into_mut()),
            Entry::Vacant(free) => {
                let c = tx.conn();
                let o = offerings::get(c, id)?;
                let prices = offerings::prices(c, &[id])?;
                let taken = offerings::taken(c, &[id])?.remove(&id).unwrap_or_default();
                Ok(free.insert((o, prices, taken.sold)))
            }
        }
    }
    fn unit(&mut self, tx: &mut Tx) -> Result<Unit, Failure> {
        match self.unit {
            Some(unit) => Ok(unit),
            None => Ok(*self.unit.insert(farm::get(tx.conn())?.unit)),
        }
    }
}

/// The price of the list for a share: the one in force on a day, or the latest of those up to that day that is `agreed`.
fn price_on(prices: &[Price], size: Size, day: NaiveDate, agreed: Option<Rate>) -> Option<&Price> {
    let held = prices.iter().filter(|p| p.size == size && p.effective_from <= day);
    let fits = |p: &&Price| {
        let listed = p.rate.map(Rate::ten_thousandths).or(p.flat_price.and_then(|m| m.cents().checked_mul(100)));
        agreed.is_none_or(|rate| listed == Some(rate.ten_thousandths()))
    };
    held.filter(fits).max_by_key(|p| (p.effective_from, p.id))
}

/// Takes a reservation. When no head has room for it, it goes to the waiting list.
///
/// # Errors
/// [`Failure::Refused`] when the offering is closed, does not sell that share, or has no price for it today.
pub fn take_reservation(tx: &mut Tx, doing: &Doing, input: &TakeReservation) -> Result<ReservationId, Failure> {
    Ok(take_off(tx, doing, input, None, &mut Shelf::default())?.id)
}

/// A reservation that was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TakenOff {
    /// It.
    pub id: ReservationId,
    /// Whose it is.
    pub customer: CustomerId,
    /// Whether it is on the waiting list.
    pub waits: bool,
}

/// The same off a shelf that stays, and perhaps as it was agreed before.
///
/// # Errors
/// As [`take_reservation`]; also when the price list never held the price that was agreed.
pub fn take_off(
    tx: &mut Tx,
    doing: &Doing,
    input: &TakeReservation,
    agreed: Option<Agreed>,
    shelf: &mut Shelf,
) -> Result<TakenOff, Failure> {
    let unit = shelf.unit(tx)?;
    super::change_order::can_be_wished_for(tx, doing, input.preferred_date)?;
    let (o, prices, on_shelf) = shelf.offering(tx, input.offering)?;
    let part = sold_part(o, input)?;
    let day = agreed.map_or(doing.now.today, |a| a.on);
    let at = agreed.map_or(doing.now.at, |a| a.at);
    let price =
        price_on(prices, input.size, day, agreed.and_then(|a| a.price)).ok_or_else(|| no_price(input, agreed))?;
    let sold = on_shelf.and(input.size, part, 1);
    let waits = agreed.is_some_and(|a| a.waits) || !sold.fits(o.head_count);
    let (customer_id, name) = match &input.who {
        Who::Known(id) => (*id, people::get(tx.conn(), *id)?.name),
        Who::New(new) => (add_customer(tx, doing, new)?, new.name.clone()),
    };
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
            taken_at: at,
            price_basis: price.basis,
            rate: price.rate,
            flat_price: price.flat_price,
            deposit_asked: price.deposit,
            price_locked_on: day,
            wishes: input.wishes.clone(),
            preferred_date_id: input.preferred_date,
            waiting_since: waits.then_some(at),
            cancelled_at: None,
            cancel_reason: String::new(),
            cancel_deposit: None,
            collected_at: None,
        },
    )?;
    if !waits {
        *on_shelf = sold;
    }
    let locked = super::message_values::price_of(price.basis, price.rate, price.flat_price, unit);
    let wishes = if input.wishes.is_empty() { String::new() } else { format!(" “{}”", input.wishes) };
    let before = match agreed {
        Some(a) if a.on != doing.now.today => format!(" on {}", crate::trade::dates::full(a.on)),
        _ => String::new(),
    };
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!(
                "{name} reserved a {}, {}{}{before}",
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
    Ok(TakenOff { id, customer: customer_id, waits })
}

/// Which quarter, where the offering is open and sells the share.
fn sold_part(o: &Offering, input: &TakeReservation) -> Result<Option<Part>, Failure> {
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
    match (input.size, o.quarter_part, input.part) {
        (Size::Whole | Size::Half, ..) => Ok(None),
        (Size::Quarter, QuarterPart::Split, _) => Ok(Some(Part::Split)),
        (Size::Quarter, QuarterPart::ForeHind, Some(part @ (Part::Fore | Part::Hind))) => Ok(Some(part)),
        (Size::Quarter, QuarterPart::ForeHind, _) => {
            Err(Failure::refuse("part", "Choose the forequarter or the hindquarter."))
        }
    }
}

fn no_price(input: &TakeReservation, agreed: Option<Agreed>) -> Failure {
    let says = match agreed {
        None => "There is no price for this share today. Set one on the offering’s page first.".to_string(),
        Some(Agreed { on, price: None, .. }) => format!(
            "The price list has no price of a {} on {}. Set one from that day or before on the offering’s page first.",
            input.size.label(),
            crate::trade::dates::full(on)
        ),
        Some(Agreed { on, price: Some(rate), .. }) => format!(
            "The price list never had {} for a {} up to {}. Correct the price, or set it from that day or before on the offering’s page first.",
            rate.dollars(),
            input.size.label(),
            crate::trade::dates::full(on)
        ),
    };
    Failure::refuse("size", says)
}
