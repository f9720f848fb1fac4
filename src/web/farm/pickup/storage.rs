//! Storage of an order's meat: what it comes to, and the button that charges it.

use super::tick::date_of;
use crate::actions::Failure;
use crate::actions::charge_storage::{Proposed, charge_storage, proposed};
use crate::book::ids::{CustomerId, DateId, ReservationId};
use crate::book::pickups;
use crate::book::reservations::{self, Order};
use crate::trade::dates::long;
use crate::trade::pickup::StoragePer;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{SumKind, SumLine};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/pickup/storage.html")]
struct StoragePage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    name: String,
    customer: CustomerId,
    date: DateId,
    rule: String,
    lines: Vec<SumLine>,
}

async fn storage_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<StoragePage, Failure> {
    let now = farmer.now;
    let (order, found): (Order, Option<Proposed>) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let p = pickups::of_orders(c, &[id])?.remove(&id).unwrap_or_default();
            let found = proposed(&order.0, &p, now)?;
            Ok((order, found))
        })
        .await?;
    let lines = found.map(|p| {
        let unit = match p.storage.per {
            Some(StoragePer::Week) => ("week", "weeks"),
            _ => ("day", "days"),
        };
        let begun = usize::try_from(p.begun).unwrap_or(0);
        let what = format!(
            "Through {}: {} × {}",
            long(p.through, now.today),
            counted(begun, unit.0, unit.1),
            p.storage.amount.dollars()
        );
        let mut lines = vec![SumLine::new(what, p.whole)];
        if p.charged.is_positive() {
            lines.push(SumLine::new("Charged already", p.charged.negated()));
        }
        lines.push(SumLine::new("To charge", p.amount).as_a(SumKind::Total));
        (lines, p)
    });
    Ok(StoragePage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.or("amount", found.map(|p| p.amount.plain()).unwrap_or_default()),
        id,
        number: order.0.number,
        name: order.1.name,
        customer: order.1.id,
        date: date_of(app, id).await?,
        rule: found.map(|p| p.storage.words(Some(p.ready_on))).unwrap_or_default(),
        lines: lines.map(|(lines, _)| lines).unwrap_or_default(),
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>) -> Answer {
    Ok(page(&storage_page(&farmer, &app, *id, Draft::empty()).await?))
}

pub(super) async fn charge(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let Some(shown) = form.money("amount", "Amount") else {
        return Ok(refused(&storage_page(&farmer, &app, id, form.into_draft()).await?));
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        charge_storage(tx, doing, id, shown)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            "Storage is charged. After the invoice, the customer’s statement is the paper for it.",
        )),
        Err(f) => {
            // What is shown again is the sum as it is now.
            let draft = refusal(&form, f)?.headed("Nothing was charged").without("amount");
            Ok(refused(&storage_page(&farmer, &app, id, draft).await?))
        }
    }
}
