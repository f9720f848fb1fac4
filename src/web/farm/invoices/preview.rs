//! Looking invoices over before they are issued: every sum, and the cross-check against the carcass.

use crate::actions::draft_invoice::{DraftInvoice, drafts};
use crate::actions::draft_words;
use crate::actions::issue_invoices::issue_invoices;
use crate::book::carcasses::{self, CarcassBilled};
use crate::book::ids::{AnimalId, DateId, ReservationId};
use crate::book::{counters, placements};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::SumLine;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::Datelike;

struct Card {
    id: ReservationId,
    field: String,
    name: String,
    share: String,
    balance: String,
    shown: String,
    sums: Vec<SumLine>,
    not_yet: String,
}

struct Check {
    animal: String,
    workings: String,
    billed: String,
    unsold: String,
    total: String,
    adds_up: bool,
}

#[derive(Template)]
#[template(path = "farm/invoices/preview.html")]
struct PreviewPage {
    frame: Frame,
    draft: Draft,
    over: (String, String),
    heading: String,
    cards: Vec<Card>,
    waiting: Vec<Card>,
    checks: Vec<Check>,
    unit: &'static str,
    due: String,
    numbers: String,
    back: String,
}

/// What invoices are looked over for.
#[derive(Debug, Clone, Copy)]
enum Of {
    Date(DateId),
    Order(ReservationId),
}

async fn gather(
    farmer: &Farmer,
    app: &App,
    of: Of,
) -> Result<(Vec<DraftInvoice>, Vec<CarcassBilled>, (String, String)), PageError> {
    let (farm, now) = (farmer.farm.clone(), farmer.now);
    Ok(app
        .read(move |c| {
            let (animals, ids, over): (Vec<AnimalId>, Vec<ReservationId>, (String, String)) = match of {
                Of::Date(date) => {
                    let head = carcasses::head_of(c, date)?;
                    let mut shares = placements::shares_on(c, &head)?;
                    shares.sort_by_key(|s| placements::number_order(&s.number));
                    let day = crate::book::dates::get(c, date)?.0.kill_on;
                    (
                        head,
                        shares.iter().map(|s| s.reservation).collect(),
                        (format!("/dates/{date}"), dates::long(day, now.today)),
                    )
                }
                Of::Order(id) => {
                    let (r, ..) = crate::book::reservations::get(c, id)?;
                    let animals = placements::shares_of(c, &[id])?.iter().map(|s| s.animal).collect();
                    (animals, vec![id], (format!("/orders/{id}"), r.number))
                }
            };
            let carcasses = carcasses::billed_weights(c, &farm, &animals)?;
            Ok((drafts(c, &farm, now, &ids)?, carcasses, over))
        })
        .await?)
}

async fn preview(farmer: &Farmer, app: &App, of: Of, draft: Option<Draft>) -> Result<PreviewPage, PageError> {
    let (drafts, carcasses, over) = gather(farmer, app, of).await?;
    let year = farmer.now.today.year();
    let next = app.read(move |c| Ok(counters::coming(c, &Series::Invoice.counter(year))?)).await?;
    let mut form = draft.unwrap_or_default();
    let fresh = !form.is_refused();
    let mut cards = Vec::new();
    let mut waiting = Vec::new();
    for d in &drafts {
        let share = draft_words::share_name(&d.order, &d.offering).to_lowercase();
        let animal = d.animal.as_ref().map_or(String::new(), |a| format!(", {}", words::animal(a)));
        let field = format!("issue-{}", d.order.id);
        let card = Card {
            id: d.order.id,
            name: d.customer.name.clone(),
            share: format!("{share}{animal}"),
            balance: d.ready().map(Money::shown).unwrap_or_default(),
            shown: d.ready().map(Money::plain).unwrap_or_default(),
            sums: words::sum_lines(&d.sum_lines()),
            not_yet: d.not_yet.clone().unwrap_or_default(),
            field: field.clone(),
        };
        if d.ready().is_some() {
            if fresh {
                form = form.with(field, "yes");
            }
            cards.push(card);
        } else {
            waiting.push(card);
        }
    }
    if fresh {
        form = form.with("tell", "yes");
    }
    let checks = carcasses
        .iter()
        .map(|b| Check {
            animal: draft_words::animal_name(&b.class, b.species.label(), &b.tag),
            workings: b.shares.iter().map(|s| s.weight.shown()).collect::<Vec<_>>().join(" + "),
            billed: b.billed.shown(),
            unsold: b.unsold.shown(),
            total: b.total.shown(),
            adds_up: b.adds_up,
        })
        .collect();
    let due = drafts
        .first()
        .and_then(|d| d.due_on)
        .map_or("before pickup".to_string(), |d| format!("on {}", dates::long(d, farmer.now.today)));
    let last = next.saturating_add(i64::try_from(cards.len()).unwrap_or(1)).saturating_sub(1);
    let numbers = match cards.len() {
        0 | 1 => format!("It gets the number {} and is", Series::Invoice.number(year, next)),
        _ => format!(
            "They get the numbers {} to {} in this order and are",
            Series::Invoice.number(year, next),
            Series::Invoice.number(year, last)
        ),
    };
    let heading = match cards.len() {
        0 => "No invoice to issue yet".to_string(),
        1 => "Look over one invoice".to_string(),
        n => format!("Look over {} invoices", count(n).to_lowercase()),
    };
    Ok(PreviewPage {
        frame: farmer.frame(Tab::Dates),
        draft: form,
        back: over.0.clone(),
        over,
        heading: capital(&heading),
        cards,
        waiting,
        checks,
        unit: farmer.unit(),
        due,
        numbers,
    })
}

async fn issue(farmer: Farmer, app: web::Data<App>, of: Of, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let (orders, form) = read(form);
    if form.is_refused() {
        return Ok(refused(&preview(&farmer, &app, of, Some(form.into_draft())).await?));
    }
    let tell = form.tick("tell");
    let n = orders.len();
    let location = match of {
        Of::Date(id) => format!("/dates/{id}"),
        Of::Order(id) => format!("/orders/{id}"),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let issued = issue_invoices(tx, doing, &orders, tell)?;
        Ok(match issued.as_slice() {
            [one] => format!("/invoices/{one}"),
            _ => location.clone(),
        })
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            &match (n, tell) {
                (1, true) => "The invoice is issued; its message is in the Outbox.".to_string(),
                (1, false) => "The invoice is issued.".to_string(),
                (n, true) => format!("{n} invoices are issued; their messages are in the Outbox."),
                (n, false) => format!("{n} invoices are issued."),
            },
        )),
        Err(f) => Ok(refused(&preview(&farmer, &app, of, Some(refusal(&form, f)?)).await?)),
    }
}

/// The ticked orders, each with the balance that was shown.
fn read(mut form: FormIn) -> (Vec<(ReservationId, Money)>, FormIn) {
    let mut out = Vec::new();
    for id in form.all("order") {
        let Ok(n) = id.parse::<i64>() else { continue };
        if !form.tick(&format!("issue-{n}")) {
            continue;
        }
        if let Some(shown) = form.signed_money(&format!("shown-{n}"), "Balance") {
            out.push((ReservationId(n), shown));
        }
    }
    if out.is_empty() && !form.is_refused() {
        form.problem("", "Tick at least one invoice to issue.");
    }
    (out, form)
}

/// The invoices of a date.
///
/// # Errors
/// 404 when there is no such date.
pub async fn of_date(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&preview(&farmer, &app, Of::Date(DateId(*id)), None).await?))
}

/// Issues the ticked ones of a date.
///
/// # Errors
/// 404 when there is no such date.
pub async fn issue_date(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    issue(farmer, app, Of::Date(DateId(*id)), sent).await
}

/// The invoice of one order.
///
/// # Errors
/// 404 when there is no such order.
pub async fn of_order(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&preview(&farmer, &app, Of::Order(ReservationId(*id)), None).await?))
}

/// Issues it.
///
/// # Errors
/// 404 when there is no such order.
pub async fn issue_order(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    issue(farmer, app, Of::Order(ReservationId(*id)), sent).await
}
