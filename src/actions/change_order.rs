//! Small changes of an order that do not touch its price: wishes, preferred date, free lines, weights of product.

use super::{Doing, Failure};
use crate::book::ids::{ChargeId, DateId, OrderChargeId, ReservationId};
use crate::book::placements;
use crate::book::reservations;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::money::{Money, Percent};
use crate::trade::weight::Weight;

/// How many free lines an order may have.
pub const MOST_LINES: usize = 30;

fn tell(tx: &mut Tx, doing: &Doing, id: ReservationId, line: String, detail: String) -> Result<(), Failure> {
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, reservation: Some(id), ..Line::default() })?)
}

/// Refuses when the order's invoice is issued: what is on it cannot change any more.
fn not_invoiced(tx: &mut Tx, id: ReservationId) -> Result<(), Failure> {
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
    r.wishes = wishes.to_string();
    r.preferred_date_id = preferred;
    if !reservations::save(tx, &r, version)? {
        return Err(Failure::Stale);
    }
    tell(
        tx,
        doing,
        id,
        "Wishes were changed".into(),
        if wishes.is_empty() { "None now.".into() } else { format!("“{wishes}”") },
    )
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
    not_invoiced(tx, id)?;
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
    not_invoiced(tx, id)?;
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
    not_invoiced(tx, id)?;
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
