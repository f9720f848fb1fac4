//! Ticking orders off, giving them a window, answering notes: the forms of the pickup list.

use super::list::list_page;
use crate::actions::Failure;
use crate::actions::choose_pickup::{Chooser, answered as note_answered, choose as choose_window};
use crate::actions::collect::{Tick, hand_over, take_back};
use crate::actions::take_ready_back::take_ready_back;
use crate::book::at::At;
use crate::book::ids::{DateId, PickupWindowId, ReservationId};
use crate::book::{reservations, standing};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;

/// The date an order's share hangs on.
pub(super) async fn date_of(app: &App, order: ReservationId) -> Result<DateId, Failure> {
    app.read(move |c| {
        let (r, ..) = reservations::get(c, order)?;
        let date = standing::facts(c, &[&r])?.remove(&order).and_then(|f| f.date);
        date.map(|(id, _)| id).ok_or(Failure::NotFound)
    })
    .await
}

async fn again(farmer: &Farmer, app: &App, date: DateId, draft: Draft) -> Result<actix_web::HttpResponse, PageError> {
    Ok(refused(&list_page(farmer, app, date, draft).await?))
}

/// Gives an order a window for its customer.
pub(super) async fn choose(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let date = date_of(&app, id).await?;
    let field = format!("window-{id}");
    let Some(window) = form.id(&field, "Window") else { return again(&farmer, &app, date, form.into_draft()).await };
    let done = app.act(&farmer, &key, move |tx, doing| {
        match choose_window(tx, doing, id, PickupWindowId(window), Chooser::Farmer) {
            Err(Failure::Refused(mut why)) => {
                for p in why.0.iter_mut().filter(|p| p.field == "window") {
                    p.field = format!("window-{id}");
                }
                Err(Failure::Refused(why))
            }
            other => other,
        }?;
        Ok(format!("/dates/{date}/pickup#order-{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved. A message about it is in the Outbox.")),
        Err(f) => again(&farmer, &app, date, refusal(&form, f)?).await,
    }
}

/// Marks a customer's note as answered.
pub(super) async fn answered(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (_, key) = sent.with_key();
    let date = date_of(&app, id).await?;
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            note_answered(tx, doing, id)?;
            Ok(format!("/dates/{date}/pickup#order-{id}"))
        })
        .await?;
    Ok(notice::with(see_other(&url), "The note is answered."))
}

/// Ticks an order off. A phone that was out of reach sends when it was ticked, in milliseconds.
pub(super) async fn collected(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let date = date_of(&app, id).await?;
    let Some(by_name) = form.optional_text(&format!("by-{id}"), "Who collects it", 120) else {
        return again(&farmer, &app, date, form.into_draft()).await;
    };
    let at = form.line(&format!("at-{id}")).parse::<i64>().ok().map(At);
    let tick = Tick { by_name, at, anyway: form.tick(&format!("anyway-{id}")) };
    let done = app.act(&farmer, &key, move |tx, doing| {
        hand_over(tx, doing, id, &tick)?;
        Ok(format!("/dates/{date}/pickup#order-{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Ticked off.")),
        Err(f) => again(&farmer, &app, date, refusal(&form, f)?.headed("It was not ticked off")).await,
    }
}

/// Takes a tick back.
pub(super) async fn undo(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (_, key) = sent.with_key();
    let date = date_of(&app, id).await?;
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            take_back(tx, doing, id)?;
            Ok(format!("/dates/{date}/pickup#order-{id}"))
        })
        .await?;
    Ok(notice::with(see_other(&url), "The tick was taken back."))
}

/// Takes back that an order is ready.
pub(super) async fn not_ready(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let date = date_of(&app, id).await?;
    let done = app.act(&farmer, &key, move |tx, doing| {
        take_ready_back(tx, doing, id)?;
        Ok(format!("/dates/{date}/pickup#order-{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "It is not ready after all. A message about it is in the Outbox.")),
        Err(f) => again(&farmer, &app, date, refusal(&form, f)?.headed("It is still ready")).await,
    }
}
