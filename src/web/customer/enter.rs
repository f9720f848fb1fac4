//! Opening a private link, and leaving.
//!
//! Mail scanners follow links before people do, so looking at a link changes nothing and uses nothing up: a button opens it.

use super::holder::Holder;
use crate::actions::{Failure, private_link};
use crate::book::{farm, links};
use crate::secret;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::respond::{page, page_with, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::sent::Sent;
use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

/// Characters of a token; see [`secret::token`].
const TOKEN: usize = 32;

#[derive(Template)]
#[template(path = "customer/enter.html")]
struct EnterPage {
    frame: Frame,
    /// Whether the link opens something; if not, the page says what to do.
    works: bool,
    phone: String,
}

async fn enter_page(app: &App, works: bool) -> Result<EnterPage, PageError> {
    let farm = app.read(|c| Ok(farm::get(c)?)).await?;
    let frame = Frame { demo: farm.is_demo, ..Frame::new(farm.name, Tab::None) };
    Ok(EnterPage { frame, works, phone: farm.phone })
}

/// The page for a link that opens nothing. Only these are counted: people on one line may open good links as often as they like, and
/// a token has too many bits to be guessed by trying.
async fn opens_nothing(app: &App, req: &HttpRequest) -> Answer {
    if !app.may_try(&format!("link from {}", app.visitor(req))) {
        return Err(PageError::Slow);
    }
    Ok(page_with(StatusCode::NOT_FOUND, &enter_page(app, false).await?))
}

/// The page with one button.
///
/// # Errors
/// 404 for a link that opens nothing, 429 after too many of those.
pub async fn show(req: HttpRequest, app: web::Data<App>, token: web::Path<String>) -> Answer {
    let (token, at) = (token.into_inner(), app.clock.at());
    if token.len() != TOKEN || app.read(move |c| private_link::order_of(c, at, &token)).await?.is_none() {
        return opens_nothing(&app, &req).await;
    }
    Ok(page(&enter_page(&app, true).await?))
}

/// Opens the order in this browser.
///
/// # Errors
/// As [`show`].
pub async fn enter(req: HttpRequest, app: web::Data<App>, token: web::Path<String>, _sent: Sent) -> Answer {
    let (token, at) = (token.into_inner(), app.clock.at());
    if token.len() != TOKEN {
        return opens_nothing(&app, &req).await;
    }
    let random = || secret::token().map_err(Failure::Unexpected);
    let (cookie, form_secret) = (random()?, random()?);
    let stored = cookie.clone();
    if !app.write(move |tx| private_link::open_link(tx, at, &token, &stored, &form_secret)).await? {
        return opens_nothing(&app, &req).await;
    }
    let mut answer = see_other("/my");
    let cookie = shaped(&app, cookie).max_age(Duration::days(private_link::SESSION_DAYS)).finish();
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}

/// Closes the order in this browser; the link stays good.
///
/// # Errors
/// When the book cannot be written.
pub async fn leave(app: web::Data<App>, holder: Holder, _sent: Sent) -> Answer {
    app.write(move |tx| Ok(links::end_session(tx, &holder.session_hash)?)).await?;
    let mut answer: HttpResponse = see_other("/lost-link");
    let mut cookie = shaped(&app, String::new()).finish();
    cookie.make_removal();
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}

fn shaped(app: &App, value: String) -> actix_web::cookie::CookieBuilder<'static> {
    Cookie::build(app.holder_cookie(), value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.config.is_https())
}
