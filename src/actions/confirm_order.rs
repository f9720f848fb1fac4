//! The confirmation of a reservation: a paper with price, deposit, payment reference and terms, frozen as it goes out, and the words that
//! go with it.

use super::letterhead::{addressed, letterhead};
use super::message_values::{order_values, price_words, with_deposit_by};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{ConfirmationId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::reservations::Order;
use crate::book::rows::farm::Farm;
use crate::book::rows::requests::NewConfirmation;
use crate::book::store::Tx;
use crate::book::{confirmations, dates as dates_book, farm, placements, plants, reservations, sale_terms, wishes};
use crate::paper::confirmation::Confirmation;
use crate::paper::parts::{Fact, Section};
use crate::post::phrases::{deposit_request_by, how_to_pay};
use crate::post::wording::{Purpose, Values};
use crate::trade::money::Money;
use crate::trade::ownership::CUSTOM_EXEMPT;
use crate::trade::vocabulary::{Inspection, PaperKind, PriceBasis};
use crate::trade::{dates, reference, sale_terms as words};
use chrono::{Days, NaiveDate};

/// What is still to come of an order's deposit, and by when it is asked for from today on; no day when nothing is missing.
fn deposit_of(
    c: &mut DbConn,
    order: &Order,
    farm: &Farm,
    today: NaiveDate,
) -> Result<(Money, Option<NaiveDate>), Failure> {
    let held = Money::sum(payments::held(c, For::Order(order.0.id))?.iter().map(|h| h.amount))?;
    let missing = order.0.deposit_asked.minus(held)?;
    let days = u64::try_from(farm.deposit_days).unwrap_or(14);
    let due = today.checked_add_days(Days::new(days)).unwrap_or(today);
    Ok(if missing.is_positive() { (missing, Some(due)) } else { (Money::ZERO, None) })
}

/// Makes the paper as things stand now and writes the message of `purpose` that carries it. `more` are values of the message that only its
/// purpose knows.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order; [`Failure::Refused`] when the message cannot be written.
pub fn confirm_order(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    purpose: Purpose,
    more: Values,
) -> Result<(), Failure> {
    let paper = make_confirmation(tx, doing, id)?;
    let order = reservations::get(tx.conn(), id)?;
    let farm = farm::get(tx.conn())?;
    let (missing, due) = deposit_of(tx.conn(), &order, &farm, doing.now.today)?;
    let values = with_deposit_by(order_values(tx.conn(), id)?, &order.0.number, missing, due, &farm).overlaid(&more);
    let attachment = Some((PaperKind::Confirmation, paper.0));
    let (customer, reservation) = (order.1.id, Some(id));
    queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment })?;
    Ok(())
}

/// Makes and keeps the paper.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn make_confirmation(tx: &mut Tx, doing: &Doing, id: ReservationId) -> Result<ConfirmationId, Failure> {
    let c = tx.conn();
    let order = reservations::get(c, id)?;
    let farm = farm::get(c)?;
    let today = doing.now.today;
    let (missing, due) = deposit_of(c, &order, &farm, today)?;
    let (r, customer, o) = &order;
    let reference = reference::of(&r.number);
    let share = r.size.of(o.species);
    let mut says = vec![
        format!(
            "A {} is set aside for you. With this reservation you are one of the owners of the animal.",
            share.to_lowercase()
        ),
        format!(
            "Price: {}, locked on {}; it stays the same for this order. {}",
            price_words(r, farm.unit),
            dates::full(r.price_locked_on),
            rests_on(r.price_basis)
        ),
    ];
    says.extend(asked_for(c, &order)?);
    let document = Confirmation {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        number: r.number.clone(),
        date: dates::full(today),
        to: addressed(customer),
        facts: vec![
            Fact { name: "Share".into(), value: share },
            Fact { name: "Season".into(), value: o.season.clone() },
            Fact { name: "Reference".into(), value: reference.clone() },
        ],
        says,
        deposit: deposit_section(&farm, r.deposit_asked, missing, due, &reference),
        reference,
        ownership: ownership(c, &order)?,
        terms: terms(c, &order)?,
    };
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let customer_id = order.1.id;
    let new = NewConfirmation { reservation_id: id, customer_id, made_on: today, deposit_due_on: due, document: json };
    Ok(confirmations::insert(tx, &new)?)
}

fn deposit_section(farm: &Farm, asked: Money, missing: Money, due: Option<NaiveDate>, reference: &str) -> Section {
    let heading = if asked.is_positive() { format!("Deposit of {}", asked.dollars()) } else { "Deposit".into() };
    let mut body = vec![if missing.is_positive() || asked.is_zero() {
        deposit_request_by(missing, due)
    } else {
        "It is here, thank you.".into()
    }];
    if missing.is_positive() {
        body.push(how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words));
        body.push(format!("Write the payment reference {reference} on it, so that we find your order."));
    }
    if asked.is_positive() {
        body.push("It is taken off your invoice.".into());
    }
    if !farm.deposit_policy.is_empty() {
        body.push(farm.deposit_policy.clone());
    }
    Section { heading, body }
}

/// What the sum depends on in the end.
pub const fn rests_on(basis: PriceBasis) -> &'static str {
    match basis {
        PriceBasis::Hanging | PriceBasis::Live => {
            "What you pay in the end depends on the weight, which is known only when the animal is weighed."
        }
        PriceBasis::Flat => "It does not depend on the weight.",
    }
}

/// The dates the order would like, in a sentence.
fn asked_for(c: &mut DbConn, order: &Order) -> Result<Option<String>, Failure> {
    let wishes = wishes::of(c, &[order.0.id])?.remove(&order.0.id).unwrap_or_default();
    let mut days = Vec::new();
    for date in wishes.dates(order.0.preferred_date_id) {
        days.push(dates::full(dates_book::get(c, date)?.0.kill_on));
    }
    Ok((!days.is_empty()).then(|| {
        let only = if wishes.only_these { ", and no other date" } else { "" };
        format!(
            "You would like {}{only}. We do what we can; the date is set when your animal has its place.",
            days.join(", then ")
        )
    }))
}

/// What owners at custom-exempt plants have to know: of the plant the share goes to, or of all the farm works with while that is open.
fn ownership(c: &mut DbConn, order: &Order) -> Result<Option<Section>, Failure> {
    let share = placements::shares_of(c, &[order.0.id])?.into_iter().next();
    let placed = match share {
        Some(share) => crate::book::animals::get(c, share.animal)?.date_id,
        None => None,
    };
    let plants = match placed {
        Some(date) => vec![dates_book::get(c, date)?.1],
        None => plants::list(c, false)?,
    };
    let exempt: Vec<String> =
        plants.into_iter().filter(|p| p.inspection == Inspection::Custom).map(|p| p.name).collect();
    Ok((!exempt.is_empty()).then(|| Section {
        heading: format!("If it is cut at {}", exempt.join(" or ")),
        body: vec![CUSTOM_EXEMPT.into()],
    }))
}

/// The terms the customer accepted; those in force where none are accepted yet.
fn terms(c: &mut DbConn, order: &Order) -> Result<Option<Section>, Failure> {
    let (r, customer, _) = order;
    let (terms, how) = match sale_terms::accepted(c, r.id, customer.id)? {
        Some((a, terms)) => {
            let how = format!("Accepted by {} on {}, {}.", customer.name, dates::full(a.accepted_on), a.way.label());
            (terms, how)
        }
        None => match sale_terms::in_force(c)? {
            Some(terms) => {
                (terms, "Not accepted yet. Please read them; you can accept them on your private page.".into())
            }
            None => return Ok(None),
        },
    };
    let body = std::iter::once(how).chain(words::paragraphs(&terms.body)).collect();
    let heading = format!("Our terms, version {} of {}", terms.number, dates::full(terms.made_on));
    Ok(Some(Section { heading, body }))
}
