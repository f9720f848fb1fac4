//! Opening the private link of a processing date, and leaving.
//!
//! Mail scanners follow links before people do, so looking at a link changes nothing and uses nothing up: a button opens it, by name.

use super::holder::PlantHolder;
use crate::actions::{Failure, plant_link};
use crate::book::ids::DateId;
use crate::book::{dates, farm, plant_links};
use crate::secret;
use crate::trade::dates::long;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, page_with, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::sent::Sent;
use actix_web::cookie::{Cookie, CookieBuilder, SameSite, time::Duration};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

/// Characters of a token; see [`secret::token`].
const TOKEN: usize = 32;

#[derive(Template)]
#[template(path = "processor/enter.html")]
struct EnterPage {
    frame: Frame,
    draft: Draft,
    /// "Pell Road Meats, Thursday, October 14"; empty when the link opens nothing.
    opens: String,
    phone: String,
}

async fn enter_page(app: &App, date: Option<DateId>, draft: Draft) -> Result<EnterPage, PageError> {
    let at = app.clock.at();
    let (farm, found) = app
        .read(move |c| {
            let found = date.map(|id| dates::get(c, id)).transpose()?;
            Ok((farm::get(c)?, found))
        })
        .await?;
    let today = at.day(farm.zone());
    let opens = found.map(|(d, plant)| format!("{}, {}", plant.name, long(d.kill_on, today))).unwrap_or_default();
    let frame = Frame { demo: farm.is_demo, ..Frame::new(farm.name, Tab::None) };
    Ok(EnterPage { frame, draft, opens, phone: farm.phone })
}

/// The page for a link that opens nothing. Only these are counted, as with customers' links.
async fn opens_nothing(app: &App, req: &HttpRequest) -> Answer {
    if !app.may_try(&format!("link from {}", app.visitor(req))) {
        return Err(PageError::Slow);
    }
    Ok(page_with(StatusCode::NOT_FOUND, &enter_page(app, None, Draft::empty()).await?))
}

async fn opened_by(app: &App, token: &str) -> Result<Option<DateId>, Failure> {
    let (token, at) = (token.to_string(), app.clock.at());
    if token.len() != TOKEN {
        return Ok(None);
    }
    Ok(app.read(move |c| plant_link::date_of(c, at, &token)).await?.map(|(_, date)| date))
}

/// The page with one field and one button.
///
/// # Errors
/// 404 for a link that opens nothing, 429 after too many of those.
pub async fn show(req: HttpRequest, app: web::Data<App>, token: web::Path<String>) -> Answer {
    match opened_by(&app, &token).await? {
        None => opens_nothing(&app, &req).await,
        date => Ok(page(&enter_page(&app, date, Draft::empty()).await?)),
    }
}

/// Opens the date in this browser.
///
/// # Errors
/// As [`show`].
pub async fn enter(req: HttpRequest, app: web::Data<App>, token: web::Path<String>, sent: Sent) -> Answer {
    let Some(date) = opened_by(&app, &token).await? else { return opens_nothing(&app, &req).await };
    let (mut form, _) = sent.with_key();
    let Some(name) = form.text("name", "Your name", plant_link::NAME) else {
        return Ok(refused(&enter_page(&app, Some(date), form.into_draft()).await?));
    };
    let random = || secret::token().map_err(Failure::Unexpected);
    let (cookie, form_secret) = (random()?, random()?);
    let (stored, token, at) = (cookie.clone(), token.into_inner(), app.clock.at());
    if !app.write(move |tx| plant_link::open_link(tx, at, &token, &name, &stored, &form_secret)).await? {
        return opens_nothing(&app, &req).await;
    }
    let mut answer = see_other("/plant");
    let cookie = shaped(&app, cookie).max_age(Duration::days(plant_link::SESSION_DAYS)).finish();
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}

/// Where somebody lands who has no link, or one that ended.
///
/// # Errors
/// When the book cannot be read.
pub async fn lost(app: web::Data<App>) -> Answer {
    Ok(page(&enter_page(&app, None, Draft::empty()).await?))
}

/// Closes the date in this browser; the link stays good.
///
/// # Errors
/// When the book cannot be written.
pub async fn leave(app: web::Data<App>, holder: PlantHolder, _sent: Sent) -> Answer {
    app.write(move |tx| Ok(plant_links::end_session(tx, &holder.session_hash)?)).await?;
    let mut answer: HttpResponse = see_other("/lost-plant-link");
    let mut cookie = shaped(&app, String::new()).finish();
    cookie.make_removal();
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}

fn shaped(app: &App, value: String) -> CookieBuilder<'static> {
    Cookie::build(app.plant_cookie(), value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.config.is_https())
}
