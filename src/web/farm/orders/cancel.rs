//! Cancelling an order: why, and what becomes of the deposit.

use super::words;
use crate::actions::Failure;
use crate::actions::ask_to_cancel::answer_it_stays;
use crate::actions::cancel_reservation::{Cancel, cancel_reservation};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::{cancel_requests, reservations};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::vocabulary::DepositFate;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/orders/cancel.html")]
struct CancelPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    heading: String,
    held: String,
    others: Choices,
    policy: String,
    /// What the customer asked by private link and was told about the deposit: day, reason, words.
    asked: Option<(String, String, String)>,
}

async fn form_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    draft: Option<Draft>,
) -> Result<CancelPage, PageError> {
    let ((r, customer, o), held, others, asked) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let others = reservations::others_of(c, order.1.id, id)?;
            Ok((order, payments::held(c, For::Order(id))?, others, cancel_requests::open_of(c, id)?))
        })
        .await?;
    let held = Money::sum(held.iter().map(|h| h.amount)).map_err(Failure::from)?;
    Ok(CancelPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or_else(|| {
            let reason = asked.as_ref().map(|a| a.reason.clone()).unwrap_or_default();
            Draft::empty().with("version", r.version.to_string()).with("reason", reason)
        }),
        id,
        number: r.number.clone(),
        heading: format!("Cancel the {} of {}?", words::share(&r, &o).to_lowercase(), customer.name),
        held: if held.is_zero() { String::new() } else { held.dollars() },
        others: others
            .iter()
            .map(|(r, o)| {
                (r.id.to_string(), format!("{}, {}, {}", r.number, words::share(r, o).to_lowercase(), o.season))
            })
            .collect(),
        policy: farmer.farm.deposit_policy.clone(),
        asked: asked
            .map(|a| (dates::long(a.asked_at.day(farmer.now.zone), farmer.now.today), a.reason, a.deposit_words)),
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Answers a customer's wish to cancel: the order stays.
///
/// # Errors
/// 404 when there is no such order.
pub async fn stays(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let answer = form.lines("answer", "Your answer", 1000);
    let answer = match form.finish((answer,)) {
        Ok((answer,)) => answer,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        answer_it_stays(tx, doing, id, &answer)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The order stays, and the answer is in the Outbox.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}

/// Cancels.
///
/// # Errors
/// 404 when there is no such order; 409 when somebody saved in between.
pub async fn cancel(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.text("reason", "Reason", 300),
        form.optional_word::<DepositFate>("fate", "What becomes of the deposit"),
        form.optional_id("carry_to", "Order"),
    );
    let (version, reason, fate, carry) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let input = Cancel { version, reason, fate: fate.unwrap_or(DepositFate::None), carry_to: carry.map(ReservationId) };
    let done = app.act(&farmer, &key, move |tx, doing| {
        cancel_reservation(tx, doing, id, &input)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The order is cancelled.")),
        Err(Failure::Stale) => {
            let (r, ..) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
            let fresh = Draft::empty().with("version", r.version.to_string());
            let draft = form.into_draft().stale(&fresh, &[], &format!("/orders/{id}"));
            Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
