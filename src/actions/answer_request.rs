//! The farm's answer to a request: it becomes an order by the same rule as a reservation taken by hand, or is declined with words.
//!
//! A request holds no share: until it is accepted, the share is there for others. The price is locked as of the day of acceptance. The
//! request keeps the price its page showed, and a price that is not the same is never taken silently: the farmer ticks that it changed, and
//! the mail says both.

use super::accept_terms::accept;
use super::add_customer::CustomerIn;
use super::ask_place::ask_place;
use super::ask_to_reserve::write_to;
use super::change_order::can_be_wished_for;
use super::confirm_order::{confirm_order, rests_on};
use super::message_values::{order_values, price_of};
use super::queue_message::{ToSay, queue_message};
use super::take_reservation::{TakeReservation, Who, take_reservation};
use super::{Doing, Failure};
use crate::book::ids::{CustomerId, DateId, PriceId, RequestId, ReservationId};
use crate::book::rows::requests::ReserveRequest;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::wishes::Wishes;
use crate::book::{dates as dates_book, farm, offerings, people, requests, reservations, sale_terms};
use crate::post::wording::{Purpose, Values};
use crate::trade::dates;
use crate::trade::fold::fold;
use crate::trade::money::{Money, Rate};
use crate::trade::requests::RequestEnd;
use crate::trade::sale_terms::AcceptedBy;
use crate::trade::vocabulary::PriceBasis;

/// A price and its deposit, to be compared.
type PriceAndDeposit = (PriceBasis, Option<Rate>, Option<Money>, Money);

/// How the farmer accepts a request.
#[derive(Debug, Clone)]
pub struct Accept {
    /// Whose order it becomes: somebody in the book, or somebody new.
    pub customer: Option<CustomerId>,
    /// The row of the price list that the page showed.
    pub price: PriceId,
    /// Whether it may be taken though the price is not the one the request was made at.
    pub price_changed: bool,
}

/// The price as the request keeps it.
pub fn as_stored(request: &ReserveRequest) -> PriceAndDeposit {
    (request.price_basis, request.rate, request.flat_price, request.deposit)
}

/// Accepts a request: it becomes an order, or goes to the waiting list where no share is left; the customer is told by mail.
///
/// # Errors
/// [`Failure::Refused`] when it was answered before, the offering is closed, or the price changed and that is not said.
pub fn accept_request(tx: &mut Tx, doing: &Doing, id: RequestId, input: &Accept) -> Result<ReservationId, Failure> {
    let (request, o) = open(tx, id)?;
    let price = offerings::price_on(tx.conn(), o.id, request.size, doing.now.today)?;
    if let Some(price) = price {
        if price.id != input.price {
            let says = "The price was changed while you had this page open. Look at it once more.";
            return Err(Failure::refuse("price_changed", says));
        }
        let same = as_stored(&request) == (price.basis, price.rate, price.flat_price, price.deposit);
        if !same && !input.price_changed {
            let says = "The price is not the one this was asked at. Tick that it changed, and the mail says so.";
            return Err(Failure::refuse("price_changed", says));
        }
    }
    take(tx, doing, id, Some(input.customer))
}

/// Declines a request with words, which go to the address by mail.
///
/// # Errors
/// [`Failure::Refused`] when it was answered before.
pub fn decline_request(tx: &mut Tx, doing: &Doing, id: RequestId, words: &str) -> Result<(), Failure> {
    let (request, o) = open(tx, id)?;
    close(tx, doing, id, RequestEnd::Declined, None, words)?;
    let share = format!("{} {}", request.size.label(), o.species.label());
    let values = Values::new()
        .with("share", share.clone())
        .with("offering", format!("{}, {}", o.species.label(), o.season))
        .with("answer", words);
    write_to(tx, doing, (&request.name, &request.mail), Purpose::RequestDeclined, &values)?;
    let line = format!("The request of {} for a {share} was declined", request.name);
    let told = Line { line, detail: words.to_owned(), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}

/// Makes an order of a confirmed request at the price of today. `whose`: the farmer's choice of customer (the inner `None`: somebody new),
/// or none where Gambrel decides: then it is the one customer with this address, or with this address and name, else somebody new.
///
/// # Errors
/// As [`accept_request`], without the questions about the price.
pub(super) fn take(
    tx: &mut Tx,
    doing: &Doing,
    id: RequestId,
    whose: Option<Option<CustomerId>>,
) -> Result<ReservationId, Failure> {
    let (request, o) = open(tx, id)?;
    let known = match whose {
        Some(chosen) => chosen,
        None => match_by_mail(tx, &request)?,
    };
    let who = match known {
        Some(known) => Who::Known(known),
        None => Who::New(CustomerIn {
            name: request.name.clone(),
            mail: request.mail.clone(),
            phone: request.phone.clone(),
            address: request.address.clone(),
            notes: String::new(),
            no_offers: false,
        }),
    };
    let mut chosen: Vec<DateId> = Vec::new();
    let mut wishes: Vec<String> = Vec::new();
    for date in requests::dates_of(tx.conn(), id)? {
        match can_be_wished_for(tx, doing, Some(date)) {
            Ok(()) => chosen.push(date),
            Err(Failure::Refused(_)) => {
                let day = dates_book::get(tx.conn(), date)?.0.kill_on;
                wishes.push(format!("Also asked for {}, which cannot be chosen any more.", dates::full(day)));
            }
            Err(e) => return Err(e),
        }
    }
    if !request.together.is_empty() {
        wishes.insert(0, format!("Together with: {}", request.together));
    }
    if !request.note.is_empty() {
        wishes.insert(0, request.note.clone());
    }
    let input = TakeReservation {
        who,
        offering: o.id,
        size: request.size,
        part: request.part,
        wishes: wishes.join("\n"),
        preferred_date: chosen.first().copied(),
    };
    let order = take_reservation(tx, doing, &input)?;
    let only_these = request.only_these && !chosen.is_empty();
    let later = chosen.into_iter().skip(1).collect();
    ask_place(tx, doing, order, &Wishes { later, only_these, ..Wishes::default() })?;
    close(tx, doing, id, RequestEnd::Accepted, Some(order), "")?;
    if let Some(terms) = request.terms_id {
        let terms = sale_terms::get(tx.conn(), terms)?;
        accept(tx, doing, order, &terms, AcceptedBy::Request, request.asked_at.day(doing.now.zone))?;
    }
    tell(tx, doing, &request, order)?;
    Ok(order)
}

/// Tells the customer: a share is set aside, or they are on the waiting list.
fn tell(tx: &mut Tx, doing: &Doing, request: &ReserveRequest, order: ReservationId) -> Result<(), Failure> {
    let (r, customer, o) = reservations::get(tx.conn(), order)?;
    let unit = farm::get(tx.conn())?.unit;
    let locked = (r.price_basis, r.rate, r.flat_price, r.deposit_asked);
    let price_says = if as_stored(request) == locked {
        "That is the price our page showed when you asked. It is locked now.".to_string()
    } else {
        format!(
            "The price changed since you asked: our page showed {}, with a deposit of {}. If you do not want the share at this price, tell us \
             before you send anything; you owe nothing then.",
            price_of(request.price_basis, request.rate, request.flat_price, unit),
            request.deposit.dollars()
        )
    };
    let told = Line {
        line: format!("The request of {} was accepted", request.name),
        detail: format!("Asked on {}.", dates::full(request.asked_at.day(doing.now.zone))),
        customer: Some(customer.id),
        reservation: Some(order),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    let price_says = format!("{price_says} {}", rests_on(r.price_basis));
    let more = Values::new().with("price_says", price_says);
    if r.waiting_since.is_none() {
        return confirm_order(tx, doing, order, Purpose::RequestAccepted, more);
    }
    let line = reservations::waiting(tx.conn(), &[o.id])?.len().to_string();
    let values = order_values(tx.conn(), order)?.overlaid(&more).with("in_line", line);
    let (customer, reservation) = (customer.id, Some(order));
    let say = ToSay { customer, reservation, purpose: Purpose::RequestWaiting, values, attachment: None };
    queue_message(tx, doing, &say)?;
    Ok(())
}

/// The customer a request is of: the one with its mail address; of several the one with its name too.
fn match_by_mail(tx: &mut Tx, request: &ReserveRequest) -> Result<Option<CustomerId>, Failure> {
    let known = people::with_mail(tx.conn(), &request.mail)?;
    let named = known.iter().find(|p| fold(&p.name) == fold(&request.name));
    Ok(match (named, known.as_slice()) {
        (Some(one), _) => Some(one.id),
        (None, [one]) => Some(one.id),
        (None, _) => None,
    })
}

fn open(tx: &mut Tx, id: RequestId) -> Result<requests::Asked, Failure> {
    let (request, o) = requests::get(tx.conn(), id)?;
    if request.confirmed_at.is_none() {
        return Err(Failure::NotFound);
    }
    if let Some(outcome) = request.outcome {
        let says = format!("This request was {} already. Nothing was changed.", outcome.label());
        return Err(Failure::refuse("", says));
    }
    Ok((request, o))
}

fn close(
    tx: &mut Tx,
    doing: &Doing,
    id: RequestId,
    outcome: RequestEnd,
    order: Option<ReservationId>,
    words: &str,
) -> Result<(), Failure> {
    if requests::close(tx, id, outcome, order, (doing.now.at, &doing.actor), words)? {
        Ok(())
    } else {
        Err(Failure::refuse("", "This request was answered already. Nothing was changed."))
    }
}
