//! A customer's wish to cancel: what happens to the deposit first, then the wish, which the farm answers.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::ask_to_cancel::{ask_to_cancel, deposit_words, take_back, why_not};
use crate::book::rows::links::CancelRequest;
use crate::book::{cancel_requests, reservations, standing};
use crate::trade::dates;
use crate::trade::vocabulary::CancelAnswer;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/cancel.html")]
struct CancelPage {
    frame: CustomerFrame,
    draft: Draft,
    heading: String,
    /// What becomes of the deposit.
    deposit: String,
    /// Why it cannot be asked; empty when it can.
    why_not: String,
    /// What was asked and waits for the farm: the day and the reason.
    asked: Option<(String, String)>,
    /// The farm's answer to the last wish, when the order stays.
    answer: String,
}

async fn cancel_page(holder: &Holder, app: &App, draft: Draft) -> Result<CancelPage, PageError> {
    let id = holder.order;
    let (r, facts, last) = app
        .read(move |c| {
            let (r, ..) = reservations::get(c, id)?;
            let facts = standing::facts(c, &[&r])?.remove(&id).unwrap_or_default();
            Ok((r, facts, cancel_requests::last_of(c, id)?))
        })
        .await?;
    let open = last.as_ref().filter(|l| l.answer.is_none());
    let told = |l: &CancelRequest| (dates::long(l.asked_at.day(holder.now.zone), holder.now.today), l.reason.clone());
    let share = holder.share.to_lowercase();
    Ok(CancelPage {
        frame: holder.frame(),
        draft,
        heading: if open.is_some() {
            format!("You asked to cancel your {share}")
        } else {
            format!("Cancel your {share}?")
        },
        deposit: open.map_or_else(|| deposit_words(&holder.farm, facts.held), |l| l.deposit_words.clone()),
        why_not: why_not(&r, &facts).unwrap_or_default(),
        asked: open.map(told),
        answer: last.filter(|l| l.answer == Some(CancelAnswer::Stays)).map(|l| l.note).unwrap_or_default(),
    })
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    Ok(page(&cancel_page(&holder, &app, Draft::empty()).await?))
}

/// Asks.
///
/// # Errors
/// When the book cannot be written.
pub async fn ask(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let reason = form.text("reason", "Why", 300);
    let reason = match form.finish((reason,)) {
        Ok((reason,)) => reason,
        Err(draft) => return Ok(refused(&cancel_page(&holder, &app, draft).await?)),
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        ask_to_cancel(tx, doing, order, &reason)?;
        Ok("/my".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "We have your wish and answer you. Nothing is canceled yet.")),
        Err(f) => Ok(refused(&cancel_page(&holder, &app, refusal(&form, f)?).await?)),
    }
}

/// Takes the wish back.
///
/// # Errors
/// When the book cannot be written.
pub async fn withdraw(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        take_back(tx, doing, order)?;
        Ok("/my".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Your order stands as before.")),
        Err(f) => Ok(refused(&cancel_page(&holder, &app, refusal(&form, f)?).await?)),
    }
}
