//! Small changes of an order that do not touch its price: wishes, preferred date, free lines, weights of product.

use super::{Doing, Failure};
use crate::book::dates as processing;
use crate::book::ids::{ChargeId, DateId, OrderChargeId, ReservationId};
use crate::book::placements;
use crate::book::reservations;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::dates;
use crate::trade::money::{Money, Percent};
use crate::trade::weight::Weight;

/// How many free lines an order may have.
pub const MOST_LINES: usize = 30;

fn tell(tx: &mut Tx, doing: &Doing, id: ReservationId, line: String, detail: String) -> Result<(), Failure> {
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, reservation: Some(id), ..Line::default() })?)
}

/// Refuses when the order's invoice is issued: what is on it cannot change any more.
fn is_open(tx: &mut Tx, id: ReservationId) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it stays as it is."));
    }
    match placements::invoiced(tx.conn(), &[id])?.first() {
        Some(i) => Err(Failure::refuse(
            "",
            format!(
                "Invoice {} is issued, so its lines stay. Void it first, then change the order and issue it again.",
                i.number
            ),
        )),
        None => Ok(()),
    }
}

/// Changes wishes and the preferred date.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between.
pub fn change_wishes(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    version: i64,
    wishes: &str,
    preferred: Option<DateId>,
) -> Result<(), Failure> {
    let (mut r, ..) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it stays as it is."));
    }
    if preferred != r.preferred_date_id {
        can_be_wished_for(tx, doing, preferred)?;
    }
    let (before, day_before) = (r.wishes.clone(), r.preferred_date_id);
    r.wishes = wishes.to_string();
    r.preferred_date_id = preferred;
    if !reservations::save(tx, &r, version)? {
        return Err(Failure::Stale);
    }
    if wishes != before {
        let now = if wishes.is_empty() { "None now.".into() } else { format!("“{wishes}”") };
        tell(tx, doing, id, "Wishes were changed".into(), now)?;
    }
    if preferred != day_before {
        let now = match preferred {
            None => "Any date.".to_string(),
            Some(day) => format!("{}.", dates::long(processing::get(tx.conn(), day)?.0.kill_on, doing.now.today)),
        };
        tell(tx, doing, id, "The date they would like was changed".into(), now)?;
    }
    Ok(())
}

/// Refuses a wished date that is not in the book, is cancelled or past.
///
/// # Errors
/// [`Failure::Refused`] with the field `preferred_date`.
pub fn can_be_wished_for(tx: &mut Tx, doing: &Doing, day: Option<DateId>) -> Result<(), Failure> {
    let Some(id) = day else { return Ok(()) };
    let says = match processing::get(tx.conn(), id) {
        Err(diesel::result::Error::NotFound) => "That date is not in the book any more",
        Err(e) => return Err(e.into()),
        Ok((d, _)) if d.cancelled_at.is_some() => "That date is cancelled",
        Ok((d, _)) if d.kill_on < doing.now.today => "That date is past",
        Ok(_) => return Ok(()),
    };
    Err(Failure::refuse("preferred_date", format!("{says}. Choose another one of the list, or any date")))
}

/// Adds a free line: delivery, or a discount when negative.
///
/// # Errors
/// [`Failure::Refused`] when the invoice is issued, the amount is zero, or there are thirty lines already.
pub fn add_line(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    name: &str,
    amount: Money,
    tax: Percent,
) -> Result<(), Failure> {
    is_open(tx, id)?;
    if amount.is_zero() {
        return Err(Failure::refuse("amount", "Write an amount that is not zero; a discount has a minus in front"));
    }
    if reservations::lines(tx.conn(), id)?.len() >= MOST_LINES {
        return Err(Failure::refuse("name", format!("An order has at most {MOST_LINES} lines. Take one off first")));
    }
    reservations::add_line(tx, id, name, amount, tax, doing.now.at)?;
    tell(tx, doing, id, format!("Line added: {name}, {}", amount.dollars()), String::new())
}

/// Takes a free line off.
///
/// # Errors
/// [`Failure::Refused`] when the invoice is issued; [`Failure::NotFound`] when there is no such line.
pub fn take_line_off(tx: &mut Tx, doing: &Doing, id: ReservationId, line: OrderChargeId) -> Result<(), Failure> {
    is_open(tx, id)?;
    let taken = reservations::take_line_off(tx, id, line)?.ok_or(Failure::NotFound)?;
    tell(tx, doing, id, format!("Line taken off: {}, {}", taken.name, taken.amount.dollars()), String::new())
}

/// Records how much of each product is made for the order.
///
/// # Errors
/// [`Failure::Refused`] when the invoice is issued or a charge does not belong to the order's processor.
pub fn set_products(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    made: &[(ChargeId, Option<Weight>)],
) -> Result<(), Failure> {
    is_open(tx, id)?;
    let possible = reservations::products(tx.conn(), id)?;
    for (charge, quantity) in made {
        let Some((known, before)) = possible.iter().find(|(c, _)| c.id == *charge) else {
            return Err(Failure::refuse(
                "",
                "One of the products is not offered by this order’s processor. Open the page again.",
            ));
        };
        if before.filter(|b| !b.is_zero()) != quantity.filter(|q| !q.is_zero()) {
            reservations::set_product(tx, id, *charge, *quantity)?;
            tell(
                tx,
                doing,
                id,
                format!("{}: {}", known.name, quantity.map_or("none".into(), |q| q.shown())),
                String::new(),
            )?;
        }
    }
    Ok(())
}
