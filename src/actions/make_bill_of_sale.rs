//! The bill of sale for a share of a live animal: a paper frozen as it is made, before the day of slaughter, and the farm's words for it.

use super::letterhead::{addressed, letterhead};
use super::message_values::{order_values, price_words};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{BillOfSaleId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::reservations::Order;
use crate::book::rows::animals::Animal;
use crate::book::rows::bills_of_sale::NewBillOfSale;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, bills_of_sale, carcasses, dates as dates_book, farm, placements, reservations};
use crate::paper::bill_of_sale::BillOfSale;
use crate::paper::parts::{Fact, Section};
use crate::post::wording::Purpose;
use crate::trade::bill_of_sale::{LONGEST, SAMPLE};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::sale_terms::paragraphs;
use crate::trade::vocabulary::PaperKind;
use chrono::NaiveDate;

use super::confirm_order::rests_on;

/// What a bill of sale would be about.
#[derive(Debug, Clone)]
pub struct Subject {
    /// The order.
    pub order: Order,
    /// The live animal the share hangs on.
    pub animal: Animal,
    /// Its date and plant, once it has them.
    pub on: Option<(ProcessingDate, Processor)>,
    /// What the customer has paid down.
    pub held: Money,
}

/// What a bill of sale of this order would be about today.
///
/// # Errors
/// [`Failure::Refused`] with a sentence when there is no live animal to sell a share of: the order is canceled or waits, hangs nowhere, or
/// its animal was lost, weighed in, or is killed today or was before.
pub fn subject(c: &mut DbConn, id: ReservationId, today: NaiveDate) -> Result<Subject, Failure> {
    let order = reservations::get(c, id)?;
    if order.0.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is canceled; nothing of an animal is sold with it."));
    }
    let Some(share) = placements::shares_of(c, &[id])?.into_iter().next() else {
        return Err(Failure::refuse(
            "",
            "A bill of sale names the animal. Give this order its place on one first; then it can be made.",
        ));
    };
    let animal = animals::get(c, share.animal)?;
    let name = animal.name();
    if animal.lost_on.is_some() {
        return Err(Failure::refuse("", format!("{name} was lost. Give this order a place on another animal first.")));
    }
    let on = match animal.date_id {
        Some(date) => Some(dates_book::get(c, date)?),
        None => None,
    };
    let weighed = !carcasses::weigh_ins(c, &[animal.id])?.is_empty();
    let kill_on = on.as_ref().map(|(d, _)| d.kill_on);
    if weighed || kill_on.is_some_and(|day| day <= today) {
        let when = kill_on.map_or("and weighed".into(), |day| format!("on {}", dates::full(day)));
        return Err(Failure::refuse(
            "",
            format!(
                "{name} was booked for slaughter {when}. A bill of sale is for a share of a live animal and is made before that day; \
                 a later one would not say what was so."
            ),
        ));
    }
    let held = Money::sum(payments::held(c, For::Order(id))?.iter().map(|h| h.amount))?;
    Ok(Subject { order, animal, on, held })
}

/// Makes and keeps the bill of sale of an order as things stand, and mails it if asked to.
///
/// # Errors
/// As [`subject`]; [`Failure::Refused`] when the message cannot be written.
pub fn make_bill_of_sale(tx: &mut Tx, doing: &Doing, id: ReservationId, send: bool) -> Result<BillOfSaleId, Failure> {
    let today = doing.now.today;
    let s = subject(tx.conn(), id, today)?;
    let document = document(tx.conn(), doing, &s)?;
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let (customer, animal) = (s.order.1.id, s.animal.id);
    let new = NewBillOfSale {
        reservation_id: id,
        customer_id: customer,
        animal_id: animal,
        made_on: today,
        kill_on: s.on.as_ref().map(|(d, _)| d.kill_on),
        document: json,
        made_at: doing.now.at,
    };
    let bill = bills_of_sale::insert(tx, &new)?;
    let line = Line {
        line: format!("A bill of sale was made for a share of {}", s.animal.name()),
        detail: if send { "It is in the outbox; both sign it.".into() } else { "Both sign it.".into() },
        customer: Some(customer),
        reservation: Some(id),
        animal: Some(animal),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    if send {
        let values = order_values(tx.conn(), id)?.with("animal", s.animal.name());
        let attachment = Some((PaperKind::BillOfSale, bill.0));
        let purpose = Purpose::BillOfSale;
        queue_message(tx, doing, &ToSay { customer, reservation: Some(id), purpose, values, attachment })?;
    }
    Ok(bill)
}

fn document(c: &mut DbConn, doing: &Doing, s: &Subject) -> Result<BillOfSale, Failure> {
    let farm = farm::get(c)?;
    let (r, customer, o) = &s.order;
    let share = r.size.of(o.species);
    let section = |heading: &str, body: Vec<String>| Section { heading: heading.into(), body };
    let words = bills_of_sale::text(c)?.map_or(SAMPLE.to_string(), |(body, _)| body);
    let place = |lines: &[String]| lines.iter().filter(|l| !l.is_empty()).cloned().collect::<Vec<_>>().join(", ");
    let head = letterhead(&farm);
    let seller: Vec<String> = std::iter::once(farm.name.clone()).chain(head.contact.clone()).collect();
    Ok(BillOfSale {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        number: r.number.clone(),
        date: dates::full(doing.now.today),
        to: addressed(customer),
        facts: vec![
            Fact { name: "Order".into(), value: r.number.clone() },
            Fact { name: "Share".into(), value: share.clone() },
        ],
        sections: vec![
            section(
                "Seller and buyer",
                vec![format!("Seller: {}.", place(&seller)), format!("Buyer: {}.", place(&addressed(customer)))],
            ),
            section(
                "What is sold",
                vec![
                    format!("{share}: {} of the live animal below, before slaughter.", part_words(r.size.quarters())),
                    animal_words(&s.animal),
                    match &s.on {
                        Some((date, plant)) => {
                            format!("It is booked for slaughter on {} at {}.", dates::full(date.kill_on), plant.name)
                        }
                        None => "Its day of slaughter is not set yet.".into(),
                    },
                ],
            ),
            section(
                "Price",
                vec![
                    format!(
                        "{}, locked on {}. {}",
                        price_words(r, farm.unit),
                        dates::full(r.price_locked_on),
                        rests_on(r.price_basis)
                    ),
                    if s.held.is_positive() {
                        format!("Paid down by the buyer until today: {}. It counts toward the price.", s.held.dollars())
                    } else {
                        "Nothing is paid down yet.".into()
                    },
                ],
            ),
            section("What was agreed", paragraphs(&words)),
        ],
        signs: vec![format!("Seller, {}", farm.name), format!("Buyer, {}", customer.name)],
        head,
    })
}

fn part_words(quarters: i64) -> &'static str {
    match quarters {
        4 => "all",
        2 => "one half",
        _ => "one quarter",
    }
}

fn animal_words(animal: &Animal) -> String {
    let mut words = format!("{}, ear tag or mark {}", animal.name(), animal.tag);
    if !animal.official_id.is_empty() {
        words.push_str(&format!(", official number {}", crate::trade::official_id::shown(&animal.official_id)));
    }
    words.push_str(&format!(", {}", animal.sex.label()));
    if !animal.breed.is_empty() {
        words.push_str(&format!(", {}", animal.breed));
    }
    if let Some(day) = animal.birth_on {
        words.push_str(&format!(", born {}", dates::month(day)));
    }
    words.push('.');
    words
}

/// Saves the farm's words for bills of sale to come. `seen` is the version the form was opened with, 0 for the sample.
///
/// # Errors
/// [`Failure::Refused`] when there are none or too many; [`Failure::Stale`] when somebody saved in between.
pub fn write_bill_of_sale(tx: &mut Tx, doing: &Doing, body: &str, seen: i64) -> Result<(), Failure> {
    let body = body.trim();
    if body.is_empty() || body.chars().count() > LONGEST {
        return Err(Failure::refuse("body", format!("Write the words, at most {LONGEST} characters.")));
    }
    if !bills_of_sale::save_text(tx, body, seen)? {
        return Err(Failure::Stale);
    }
    let line = "The words of the bill of sale were changed; those made before stay as they are".to_string();
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?)
}
