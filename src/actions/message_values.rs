//! What the placeholders of the messages stand for, from the book.

use super::Failure;
use super::edit_wording::wording_of;
use super::pickup_rules;
use super::queue_message::common_values;
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::ids::ReservationId;
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::schema::{animal, customer, offering, placement, processing_date, processor, reservation};
use crate::post::phrases::{
    deposit_request, deposit_request_by, due, how_late, how_to_pay, long_date, paying, what_is_due,
};
use crate::post::placeholders::LINK;
use crate::post::wording::{Filled, Purpose, Values, Wording};
use crate::trade::money::{Money, Rate};
use crate::trade::reference;
use crate::trade::vocabulary::PriceBasis;
use crate::trade::weight::Unit;
use chrono::NaiveDate;
use diesel::prelude::*;

/// The share as it stands inside a sentence: `half hog`.
fn share(r: &Reservation, o: &Offering) -> String {
    format!("{} {}", r.size.label(), o.species.label())
}

/// The price locked into an order: `$5.25 per lb of hanging weight`, or `$790.00 for the share`.
pub fn price_words(r: &Reservation, unit: Unit) -> String {
    price_of(r.price_basis, r.rate, r.flat_price, unit)
}

/// A price in the same words.
pub fn price_of(basis: PriceBasis, rate: Option<Rate>, flat: Option<Money>, unit: Unit) -> String {
    let rate = rate.unwrap_or_default().dollars();
    match basis {
        PriceBasis::Hanging => format!("{rate} per {} of hanging weight", unit.as_str()),
        PriceBasis::Live => format!("{rate} per {} of live weight", unit.as_str()),
        PriceBasis::Flat => format!("{} for the share", flat.unwrap_or_default().dollars()),
    }
}

fn farm_pays(farm: &Farm) -> String {
    how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words)
}

/// Everything an order's messages can say: customer, share, price, deposit, and the processing date if the order has one.
/// `deposit_request` asks for the whole deposit; replace it with [`with_deposit`] where part of it is in.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn order_values(c: &mut DbConn, id: ReservationId) -> Result<Values, Failure> {
    let farm = farm::get(c)?;
    let (r, o): (Reservation, Offering) = reservation::table
        .inner_join(offering::table)
        .filter(reservation::id.eq(id))
        .select((Reservation::as_select(), Offering::as_select()))
        .first(c)?;
    let name: String = customer::table.find(r.customer_id).select(customer::name).first(c)?;
    let values = common_values(&farm, &name)
        .with("order", r.number.as_str())
        .with("reference", reference::of(&r.number))
        .with("share", share(&r, &o))
        .with("offering", format!("{}, {}", o.species.label(), o.season))
        .with("price", price_words(&r, farm.unit))
        .with("deposit", r.deposit_asked.dollars())
        .with("pickup_rules", pickup_rules::in_force(c)?.words());
    let values = with_deposit(values, r.deposit_asked, &farm);
    let date: Option<(ProcessingDate, Processor)> = placement::table
        .inner_join(animal::table.inner_join(processing_date::table.inner_join(processor::table)))
        .filter(placement::reservation_id.eq(id))
        .filter(animal::lost_on.is_null())
        .order(processing_date::kill_on)
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .first(c)
        .optional()?;
    Ok(match date {
        None => values,
        Some((d, p)) => values
            .with("date", long_date(d.kill_on))
            .with("processor", p.name)
            .with("pickup", pickup(d.pickup_from, d.pickup_to)),
    })
}

fn pickup(from: Option<NaiveDate>, to: Option<NaiveDate>) -> String {
    match (from, to) {
        (Some(from), Some(to)) if from != to => format!("{} to {}", long_date(from), long_date(to)),
        (Some(day), _) => long_date(day),
        (None, Some(day)) => format!("until {}", long_date(day)),
        (None, None) => "not known yet".to_owned(),
    }
}

/// Adds what is still to be paid of the deposit.
pub fn with_deposit(values: Values, missing: Money, farm: &Farm) -> Values {
    let request = deposit_request(missing);
    values.with("paying", paying(&request, missing, &farm_pays(farm))).with("deposit_request", request)
}

/// The same with the day it is due and the payment reference of the order.
pub fn with_deposit_by(values: Values, order: &str, missing: Money, due: Option<NaiveDate>, farm: &Farm) -> Values {
    let request = deposit_request_by(missing, due);
    let how = format!("{}\nPlease write the payment reference {} on it.", farm_pays(farm), reference::of(order));
    values.with("paying", paying(&request, missing, &how)).with("deposit_request", request)
}

/// Adds an invoice: its number, what is still to be paid on it, by when, and how late that is.
pub fn with_invoice(
    values: Values,
    number: &str,
    balance: Money,
    due_on: Option<NaiveDate>,
    now: Now,
    farm: &Farm,
) -> Values {
    let due = due(due_on);
    let sentence = what_is_due(balance, &due);
    values
        .with("invoice", number)
        .with("balance", balance.dollars())
        .with("how_late", how_late(due_on, now.today))
        .with("paying", paying(&sentence, balance, &farm_pays(farm)))
        .with("what_is_due", sentence)
        .with("due", due)
}

/// How a wording reads with a real order; what the order does not have yet is filled with examples.
///
/// # Errors
/// [`Failure::Refused`] when the wording cannot be filled.
pub fn preview(
    c: &mut DbConn,
    purpose: Purpose,
    wording: Option<&Wording>,
    order: Option<ReservationId>,
) -> Result<Filled, Failure> {
    let farm = farm::get(c)?;
    let real = match order {
        Some(id) => order_values(c, id)?,
        None => common_values(&farm, ""),
    };
    let in_force;
    let wording = match wording {
        Some(w) => w,
        None => {
            in_force = wording_of(c, purpose)?.wording;
            &in_force
        }
    };
    let mut values = Values::examples(purpose).overlaid(&real);
    // In a real message the link is made as it leaves.
    values = values.with_example(purpose, LINK.name);
    // These two belong together with figures the order does not have yet.
    if matches!(purpose, Purpose::Invoice | Purpose::BalanceReminder) {
        values = values.with_example(purpose, "paying");
    }
    wording.fill(purpose, &values).map_err(|fault| Failure::refuse(fault.field, fault.sentence))
}
