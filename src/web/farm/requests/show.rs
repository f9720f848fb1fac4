//! One request: what was asked, what is left, and the farm's answer.

use crate::actions::answer_request::{Accept, accept_request, as_stored, decline_request};
use crate::actions::message_values::price_of;
use crate::book::ids::{CustomerId, PriceId, RequestId};
use crate::book::rows::people::Customer;
use crate::book::rows::requests::ReserveRequest;
use crate::book::rows::selling::{Offering, Price};
use crate::book::{dates as dates_book, offerings, people, requests, reservations, sale_terms};
use crate::trade::dates;
use crate::trade::requests::RequestEnd;
use crate::trade::room::left;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/requests/show.html")]
struct RequestPage {
    frame: Frame,
    draft: Draft,
    id: RequestId,
    heading: String,
    lead: String,
    mail: String,
    phone: String,
    address: String,
    asked: String,
    wanted: String,
    together: String,
    note: String,
    /// The price the page showed, and that of today.
    seen: String,
    today: String,
    /// The row of today's price; empty when there is none.
    price: String,
    changed: bool,
    room: String,
    terms: String,
    /// Who in the book has this mail address, with what the book says otherwise.
    known: Choices,
    /// Whether it still waits for an answer.
    is_open: bool,
    order: Option<Link>,
}

struct Loaded {
    request: ReserveRequest,
    offering: Offering,
    days: Vec<chrono::NaiveDate>,
    price: Option<Price>,
    taken: offerings::Taken,
    known: Vec<Customer>,
    order: Option<Link>,
    terms: Option<i64>,
}

async fn load(app: &App, id: RequestId, today: chrono::NaiveDate) -> Result<Loaded, PageError> {
    let loaded = app.read(move |c| {
        let (request, offering) = requests::get(c, id)?;
        if request.confirmed_at.is_none() {
            return Err(crate::actions::Failure::NotFound);
        }
        let mut days = Vec::new();
        for date in requests::dates_of(c, id)? {
            days.push(dates_book::get(c, date)?.0.kill_on);
        }
        let order = match request.reservation_id {
            Some(order) => {
                let (r, ..) = reservations::get(c, order)?;
                Some(Link::new(format!("/orders/{order}"), format!("Order {}", r.number)))
            }
            None => None,
        };
        let terms = match request.terms_id {
            Some(terms) => Some(sale_terms::get(c, terms)?.number),
            None => None,
        };
        Ok(Loaded {
            price: offerings::price_on(c, offering.id, request.size, today)?,
            taken: offerings::taken(c, &[offering.id])?.remove(&offering.id).unwrap_or_default(),
            known: people::with_mail(c, &request.mail)?,
            request,
            offering,
            days,
            order,
            terms,
        })
    });
    Ok(loaded.await?)
}

/// "2 left", and who waits before.
fn room(l: &Loaded) -> String {
    let n = left(l.offering.head_count, l.taken.sold, l.request.size, l.request.part);
    match (n, l.taken.waiting) {
        (n, _) if n <= 0 => "None left: it goes to the waiting list".into(),
        (n, 0) => format!("{n} left"),
        (n, w) => format!("{n} left, and {w} on the waiting list: look there first"),
    }
}

async fn request_page(farmer: &Farmer, app: &App, id: RequestId, draft: Draft) -> Result<RequestPage, PageError> {
    let l = load(app, id, farmer.now.today).await?;
    let (r, o) = (&l.request, &l.offering);
    let (today, unit) = (farmer.now.today, farmer.farm.unit);
    let is_open = r.outcome.is_none();
    let share = words::kind(r.size, r.part, o.species);
    let day = |at: crate::book::at::At| dates::long(at.day(farmer.now.zone), today);
    let with_deposit =
        |words: String, deposit: crate::trade::money::Money| format!("{words}, deposit {}", deposit.dollars());
    let now = l.price.as_ref().map(|p| (p.basis, p.rate, p.flat_price, p.deposit));
    let lead = match (r.outcome, r.answered_at) {
        (Some(RequestEnd::Accepted), Some(at)) => format!("Accepted on {}, by {}.", day(at), r.answered_by),
        (Some(RequestEnd::Declined), Some(at)) => format!("Declined on {}: {}", day(at), r.answer),
        _ => format!("A {share} of {}. The mail address is confirmed; nothing is held until you accept.", o.season),
    };
    let known = l.known.iter().map(|p| {
        let differs = p.name != r.name || (!r.phone.is_empty() && p.phone != r.phone);
        let more = if differs && !p.phone.is_empty() { format!(", {}", p.phone) } else { String::new() };
        (p.id.to_string(), format!("{}{more}, in the book", p.name))
    });
    let known: Choices = known.collect();
    let first = known.first().map_or(String::new(), |k| k.0.clone());
    let price = l.price.as_ref().map_or(String::new(), |p| p.id.to_string());
    Ok(RequestPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.or("customer", first),
        id,
        heading: format!("{} asks for a {share}", r.name),
        lead,
        mail: r.mail.clone(),
        phone: r.phone.clone(),
        address: r.address.clone(),
        asked: day(r.asked_at),
        wanted: {
            let days: Vec<_> = l.days.iter().map(|d| dates::long(*d, today)).collect();
            let only = if r.only_these { "; no other date" } else { "" };
            if days.is_empty() { "Any date".into() } else { format!("{}{only}", days.join(", then ")) }
        },
        together: r.together.clone(),
        note: r.note.clone(),
        seen: with_deposit(price_of(r.price_basis, r.rate, r.flat_price, unit), r.deposit),
        today: now.map_or("None: set one on the offering’s page first".into(), |(basis, rate, flat, deposit)| {
            with_deposit(price_of(basis, rate, flat, unit), deposit)
        }),
        price,
        changed: now.is_some_and(|now| now != as_stored(r)),
        room: room(&l),
        terms: l.terms.map_or(String::new(), |n| format!("Version {n} accepted")),
        known,
        is_open,
        order: l.order,
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such request, or its address is not confirmed.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&request_page(&farmer, &app, RequestId(*id), Draft::empty()).await?))
}

/// Accepts it.
///
/// # Errors
/// 404 when there is no such request.
pub async fn accept(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = RequestId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (form.optional_id("customer", "Customer"), form.optional_id("price", "Price"));
    let changed = form.tick("price_changed");
    let (customer, price) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&request_page(&farmer, &app, id, draft).await?)),
    };
    let input = Accept {
        customer: customer.map(CustomerId),
        price: PriceId(price.unwrap_or_default()),
        price_changed: changed,
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let order = accept_request(tx, doing, id, &input)?;
        Ok(format!("/orders/{order}"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The request is an order now; the mail about it is in the Outbox."))
        }
        Err(f) => Ok(refused(&request_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// Declines it with words.
///
/// # Errors
/// 404 when there is no such request.
pub async fn decline(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = RequestId(*id);
    let (mut form, key) = sent.with_key();
    let words = form.lines("answer", "Your answer", 1000);
    let words = match form.finish((words,)) {
        Ok((words,)) => words,
        Err(draft) => return Ok(refused(&request_page(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        decline_request(tx, doing, id, &words)?;
        Ok("/requests".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Declined; your words go to them by mail.")),
        Err(f) => Ok(refused(&request_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
