//! Taking a reservation by phone or at the market stall.

use super::wishes::{coming, groups_hint};
use super::{asked, words};
use crate::actions::Failure;
use crate::actions::accept_terms::accept_spoken;
use crate::actions::add_customer::CustomerIn;
use crate::actions::ask_place::ask_place;
use crate::actions::confirm_order::confirm_order;
use crate::actions::take_reservation::{TakeReservation, Who, take_reservation};

use crate::book::ids::{CustomerId, OfferingId, ReservationId};
use crate::book::rows::selling::Price;
use crate::book::{offerings, people, reservations, sale_terms};
use crate::post::wording::{Purpose, Values};
use crate::trade::room::left;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::PriceBasis;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

#[derive(Template)]
#[template(path = "farm/orders/new.html")]
struct NewPage {
    frame: Frame,
    draft: Draft,
    /// Offering and share in one choice: "3-half", with price, deposit and what is left.
    shares: Vec<(String, String, String, String)>,
    dates: Choices,
    customers: Choices,
    groups: String,
    unit: &'static str,
    /// The number of the terms in force; 0 where the farm has none.
    terms: i64,
}

/// What can be reserved today, each as one choice.
fn shares_on_sale(
    c: &mut crate::book::conn::DbConn,
    today: chrono::NaiveDate,
    unit: &str,
) -> Result<Vec<(String, String, String, String)>, Failure> {
    let open = offerings::open(c)?;
    let ids: Vec<OfferingId> = open.iter().map(|o| o.id).collect();
    let (prices, taken) = (offerings::prices(c, &ids)?, offerings::taken(c, &ids)?);
    let mut out = Vec::new();
    for o in &open {
        let taken = taken.get(&o.id).copied().unwrap_or_default();
        for (size, part) in o.kinds() {
            // The list comes newest first, so the first that has begun is the one in force.
            let in_force = |p: &&Price| p.offering_id == o.id && p.size == size && p.effective_from <= today;
            let Some(price) = prices.iter().find(in_force) else { continue };
            let cost = match price.basis {
                PriceBasis::Hanging => {
                    format!("{} per {unit} of hanging weight", price.rate.unwrap_or_default().dollars())
                }
                PriceBasis::Live => format!("{} per {unit} of live weight", price.rate.unwrap_or_default().dollars()),
                PriceBasis::Flat => format!("{} for the share", price.flat_price.unwrap_or_default().dollars()),
            };
            let value = format!("{}-{}{}", o.id, size, part.map_or(String::new(), |p| format!("-{p}")));
            out.push((
                value,
                format!("{}, {}", capital(&words::kind(size, part, o.species)), o.season),
                format!("{cost}, deposit {}", price.deposit.dollars()),
                room(left(o.head_count, taken.sold, size, part), taken.waiting),
            ));
        }
    }
    Ok(out)
}

/// How many are left. A share that came free is offered to whoever calls, so the page says that others wait for one.
fn room(n: i64, waiting: i64) -> String {
    match (n, waiting) {
        (0, 0) => "None left: goes to the waiting list".to_string(),
        (0, w) => format!("None left: goes to the waiting list behind {w}"),
        (n, 0) => format!("{n} left"),
        (n, 1) => format!("{n} left, and one reservation waits: look at the waiting list first"),
        (n, w) => format!("{n} left, and {w} reservations wait: look at the waiting list first"),
    }
}

async fn form_page(farmer: &Farmer, app: &App, draft: Draft) -> Result<NewPage, PageError> {
    let (today, unit) = (farmer.now.today, farmer.unit());
    let known: Option<i64> = draft.val("customer").parse().ok();
    let (shares, dates, customers, groups, terms) = app
        .read(move |c| {
            let shares = shares_on_sale(c, today, unit)?;
            let dates = coming(c, today, &[])?;
            let customers = match known {
                Some(id) => few(people::get(c, CustomerId(id)))?,
                None => None,
            };
            let terms = sale_terms::in_force(c)?.map_or(0, |t| t.number);
            Ok((shares, dates, customers, groups_hint(c)?, terms))
        })
        .await?;
    Ok(NewPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        shares,
        dates,
        groups,
        unit,
        terms,
        customers: customers
            .into_iter()
            .map(|p| (p.id.to_string(), if p.phone.is_empty() { p.name } else { format!("{}, {}", p.name, p.phone) }))
            .collect(),
    })
}

/// One row, or none when there is no such one.
fn few<T>(found: diesel::QueryResult<T>) -> Result<Option<T>, Failure> {
    match found {
        Ok(one) => Ok(Some(one)),
        Err(diesel::result::Error::NotFound) => Ok(None),
        Err(e) => Err(e.into()),
    }
}

/// Chooses somebody in the book while the form is being filled in; what is typed stays, and nothing is saved.
///
/// # Errors
/// When the book cannot be read.
pub async fn choose(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (form, _) = sent.with_key();
    let known = form.line("known");
    let mut draft = form.into_draft().without("customer").without("known").with("customer", known);
    for name in ["name", "mail", "phone", "address"] {
        draft = draft.without(name);
    }
    Ok(page(&form_page(&farmer, &app, draft).await?))
}

/// The form; `?customer=` chooses somebody in the book, `?share=` a share.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let mut draft = Draft::empty().with("tell", "yes");
    for name in ["customer", "share", "name", "phone", "mail"] {
        if let Some(v) = query.get(name) {
            draft = draft.with(name, v.chars().take(200).collect::<String>());
        }
    }
    Ok(page(&form_page(&farmer, &app, draft).await?))
}

/// Takes the reservation.
///
/// # Errors
/// When the book cannot be written.
pub async fn take(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    if form.is_blank("share") {
        form.problem("share", "Choose a share.");
    }
    let share = Some(form.line("share")).filter(|s| !s.is_empty() && s.len() <= 60);
    let chosen = share.and_then(|s| {
        let mut parts = s.splitn(3, '-');
        let offering: i64 = parts.next()?.parse().ok()?;
        let size: Size = parts.next()?.parse().ok()?;
        let part: Option<Part> = parts.next().and_then(|p| p.parse().ok());
        Some((OfferingId(offering), size, part))
    });
    if chosen.is_none() && !form.is_blank("share") {
        form.problem("share", "Share: choose one of the list.");
    }
    let known = form.optional_id("customer", "Customer");
    let who = match known {
        Some(Some(id)) => Some(Who::Known(CustomerId(id))),
        Some(None) => {
            let name = form.text("name", "Name", 120);
            let mail = form.optional_mail_address("mail", "Mail address");
            let phone = form.optional_phone("phone", "Phone");
            let address = form.optional_lines("address", "Address", 400);
            match (name, mail, phone, address) {
                (Some(name), Some(mail), Some(phone), Some(address)) => {
                    Some(Who::New(CustomerIn { name, mail, phone, address, notes: String::new(), no_offers: false }))
                }
                _ => None,
            }
        }
        None => None,
    };
    let wishes = form.optional_lines("wishes", "Wishes", 1000);
    let asked = asked::read(&mut form);
    let tell = form.tick("tell");
    let agreed = match form.tick("agreed") {
        true => form.whole_number("terms_version", "Terms", 1..=i64::MAX).map(Some),
        false => Some(None),
    };
    let (chosen, who, wishes, (first, asked), agreed) = match form.finish((chosen, who, wishes, asked, agreed)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, draft).await?)),
    };
    let (offering, size, part) = chosen;
    let input = TakeReservation { who, offering, size, part, wishes, preferred_date: first };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = take_reservation(tx, doing, &input)?;
        ask_place(tx, doing, id, &asked)?;
        if let Some(number) = agreed {
            // Before the confirmation, which prints them.
            accept_spoken(tx, doing, id, number)?;
        }
        let (r, ..) = reservations::get(tx.conn(), id)?;
        if tell && r.waiting_since.is_none() {
            confirm_order(tx, doing, id, Purpose::ReservationConfirmed, Values::new())?;
        }
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => {
            let id = url.rsplit('/').next().and_then(|id| id.parse().ok()).map(ReservationId);
            let waits = match id {
                Some(id) => app.read(move |c| Ok(reservations::get(c, id)?.0.waiting_since.is_some())).await?,
                None => false,
            };
            let says = match (waits, tell) {
                (false, true) => {
                    "The reservation is taken. Price and deposit are locked; a confirmation is in the Outbox."
                }
                (false, false) => "The reservation is taken. Price and deposit are locked.",
                (true, true) => {
                    "No share was left, so it is on the waiting list. Nothing was sent, because no share is promised yet."
                }
                (true, false) => "No share was left, so it is on the waiting list.",
            };
            Ok(notice::with(see_other(&url), says))
        }
        Err(f) => {
            // Rules name the offering and the size; on the page both are one choice.
            let f = match f {
                Failure::Refused(mut p) => {
                    for one in p.0.iter_mut().filter(|p| matches!(p.field.as_str(), "offering" | "size" | "part")) {
                        one.field = "share".into();
                    }
                    Failure::Refused(p)
                }
                other => other,
            };
            Ok(refused(&form_page(&farmer, &app, refusal(&form, f)?).await?))
        }
    }
}
