//! The link that confirms the mail address of a request. Mail scanners follow links before people do, so looking changes nothing: a button
//! confirms. Afterwards the same page says how the request stands.

use super::stranger::Stranger;
use crate::actions::confirm_request::{confirm_request, request_of};
use crate::book::at::At;
use crate::book::requests::Asked;
use crate::book::reservations;
use crate::trade::requests::RequestEnd;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::look::Frame;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, page_with, refused, see_other};
use crate::web::sent::{Sent, refusal};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

/// Characters of a token; see [`crate::secret::token`].
const TOKEN: usize = 32;

#[derive(Template)]
#[template(path = "public/confirm.html")]
struct ConfirmPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    lead: String,
    /// Whether the button is there.
    asks: bool,
}

/// The page for a link that opens nothing. Only these are counted, as for private links.
async fn opens_nothing(app: &App, req: &HttpRequest) -> Answer {
    if !app.may_try(&format!("link from {}", app.visitor(req))) {
        return Err(PageError::Slow);
    }
    let stranger = Stranger::now(app).await?;
    let lead = format!(
        "It may be too old, or copied in part. Ask once more on our page{}.",
        if stranger.farm.phone.is_empty() { String::new() } else { format!(", or call {}", stranger.farm.phone) }
    );
    let frame = stranger.frame();
    let shown =
        ConfirmPage { frame, draft: Draft::empty(), heading: "This link confirms nothing".into(), lead, asks: false };
    Ok(page_with(StatusCode::NOT_FOUND, &shown))
}

/// The request and, once it is an order, whether that waits or was canceled.
async fn find(app: &App, token: String) -> Result<Option<(Asked, Option<(bool, bool)>)>, PageError> {
    let at = app.clock.at();
    Ok(app
        .read(move |c| {
            let Some((request, o)) = request_of(c, at, &token)? else { return Ok(None) };
            let order = match request.reservation_id {
                Some(id) => {
                    let (r, ..) = reservations::get(c, id)?;
                    Some((r.waiting_since.is_some(), r.cancelled_at.is_some()))
                }
                None => None,
            };
            Ok(Some(((request, o), order)))
        })
        .await?)
}

fn confirm_page(stranger: &Stranger, (request, o): &Asked, order: Option<(bool, bool)>, draft: Draft) -> ConfirmPage {
    let share = format!("{}, {}", words::kind(request.size, request.part, o.species), o.season);
    let answered = "We answered by mail.".to_string();
    let (heading, lead) = match (request.confirmed_at, request.outcome, order) {
        (None, ..) => (
            "Confirm your request".to_string(),
            format!("You asked {} for a {share}. Press the button, and we have it.", stranger.farm.name),
        ),
        (Some(_), None, _) => (
            "We have your request".into(),
            format!(
                "You asked for a {share}. We look at it and answer by mail. Nothing is promised until then, and nothing is to be paid."
            ),
        ),
        (_, Some(RequestEnd::Accepted), Some((false, false))) => (
            "Your share is set aside".into(),
            format!("A {share} is yours. The mail with the confirmation and your private page is on its way."),
        ),
        (_, Some(RequestEnd::Accepted), Some((true, false))) => (
            "You are on our waiting list".into(),
            format!(
                "The last {} went before your request. We write to you as soon as one comes free; nothing is to be paid until then.",
                words::kind(request.size, request.part, o.species)
            ),
        ),
        _ => ("Your request was answered".into(), answered),
    };
    let asks = request.confirmed_at.is_none();
    ConfirmPage { frame: stranger.frame(), draft, heading, lead, asks }
}

/// A form key that is good whenever the page was made: the token itself is what counts.
async fn stranger(app: &App) -> Result<Stranger, PageError> {
    Ok(Stranger::now(app).await?.at(app, At(0)))
}

/// The page.
///
/// # Errors
/// 404 for a link that opens nothing, 429 after too many of those.
pub async fn show(req: HttpRequest, app: web::Data<App>, token: web::Path<String>) -> Answer {
    let token = token.into_inner();
    if token.len() != TOKEN {
        return opens_nothing(&app, &req).await;
    }
    let Some((asked, order)) = find(&app, token).await? else { return opens_nothing(&app, &req).await };
    Ok(page(&confirm_page(&stranger(&app).await?, &asked, order, Draft::empty())))
}

/// Confirms.
///
/// # Errors
/// As [`show`].
pub async fn confirm(req: HttpRequest, app: web::Data<App>, token: web::Path<String>, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let token = token.into_inner();
    if token.len() != TOKEN {
        return opens_nothing(&app, &req).await;
    }
    let Some((asked, order)) = find(&app, token.clone()).await? else { return opens_nothing(&app, &req).await };
    let stranger = stranger(&app).await?;
    let done = app.act(&stranger, &key, move |tx, doing| {
        confirm_request(tx, doing, &token)?;
        Ok(format!("/farm/confirm/{token}"))
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&confirm_page(&stranger, &asked, order, refusal(&form, f)?))),
    }
}
