//! Signing in and out.

use super::super::app::{App, Doer};
use super::super::errors::{Answer, PageError};
use super::super::farmer::Farmer;
use super::super::look::draft::Draft;
use super::super::look::respond::{page, refused, see_other};
use super::super::look::{Frame, Tab};
use super::super::notice;
use super::super::sent::Sent;
use super::browser;
use crate::actions::accounts::Browser;
use crate::actions::{Failure, accounts};
use crate::book::ids::AccountId;
use crate::book::{accounts as stored, farm};
use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::http::header::USER_AGENT;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use std::collections::HashMap;

/// The routes of signing in and out.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/sign-in", web::get().to(show));
    cfg.route("/sign-in", web::post().to(sign_in));
    cfg.route("/sign-out", web::post().to(sign_out));
}

#[derive(Template)]
#[template(path = "account/sign_in.html")]
struct SignInPage {
    frame: Frame,
    draft: Draft,
    demo_mail: String,
    demo_password: String,
    demo_helper: &'static str,
}

async fn form_page(app: &App, draft: Draft) -> Result<SignInPage, PageError> {
    let farm = app.read(|c| Ok(farm::get(c)?)).await?;
    let name = if farm.name.is_empty() { "Gambrel".to_string() } else { farm.name };
    let frame = Frame { demo: farm.is_demo, ..Frame::new(name, Tab::None) };
    let (demo_mail, demo_password) = if farm.is_demo { (crate::demo::MAIL, crate::demo::PASSWORD) } else { ("", "") };
    Ok(SignInPage {
        frame,
        draft,
        demo_mail: demo_mail.into(),
        demo_password: demo_password.into(),
        demo_helper: crate::demo::HELPER,
    })
}

async fn show(req: HttpRequest, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let next = query.get("next").cloned().unwrap_or_default();
    let mut form = form_page(&app, Draft::empty().with("next", next)).await?;
    form.frame.notice = notice::read(&req);
    Ok(page(&form))
}

async fn sign_in(req: HttpRequest, app: web::Data<App>, sent: Sent) -> Answer {
    let mut form = sent.0;
    let mail = form.optional_text("mail", "Mail address", 254).unwrap_or_default().to_lowercase();
    let next = form.line("next");
    let password = form.raw("password").to_string();
    let draft = Draft::empty().with("mail", mail.clone()).with("next", next.clone());
    if mail.is_empty() || password.is_empty() || password.len() > 800 {
        let draft = draft
            .problem(if mail.is_empty() { "mail" } else { "password" }, "Write your mail address and your password");
        return Ok(refused(&form_page(&app, draft).await?));
    }
    if !app.may_try(&format!("from {}", app.visitor(&req))) || !app.may_try(&format!("for {mail}")) {
        return Err(PageError::Slow);
    }
    let known = app.read({
        let mail = mail.clone();
        move |c| Ok(stored::by_mail(c, &mail)?)
    });
    let known = known.await?;
    let _turn = app.hashing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let hash = known.as_ref().map(|a| a.password_hash.clone());
    let fits = web::block(move || accounts::password_fits(&password, hash.as_deref()))
        .await
        .map_err(|e| Failure::Unexpected(e.to_string()))?;
    let Some(account) = known.filter(|_| fits) else {
        tracing::warn!("a sign-in was refused");
        let draft = draft.problem(
            "mail",
            "The mail address and the password do not belong together. Try again; after ten tries you have to wait",
        );
        return Ok(refused(&form_page(&app, draft).await?));
    };
    let next = if next.is_empty() { "/" } else { &next };
    if account.totp_secret.is_some() {
        return await_code(&req, &app, account.id, next).await;
    }
    tracing::info!(account = account.id.0, "signed in");
    begin(&req, &app, account.id, next).await
}

/// Starts a session and answers with its cookie and the next page.
///
/// # Errors
/// When the book cannot be written.
pub async fn begin(req: &HttpRequest, app: &App, account: AccountId, next: &str) -> Answer {
    let browser = Browser::new(&name_of(req))?;
    let (token, at) = (browser.token.clone(), app.clock.at());
    app.write(move |tx| accounts::sign_in(tx, account, at, &browser)).await?;
    with_cookie(app, token, Duration::days(accounts::SESSION_DAYS), next)
}

/// The password fitted: asks for the code of the second factor, and remembers so in the same cookie for a few minutes.
///
/// # Errors
/// When the book cannot be written.
async fn await_code(req: &HttpRequest, app: &App, account: AccountId, next: &str) -> Answer {
    let browser = Browser::new(&name_of(req))?;
    let (token, at) = (browser.token.clone(), app.clock.at());
    app.write(move |tx| accounts::await_code(tx, account, at, &browser)).await?;
    let next: String = form_urlencoded::byte_serialize(next.as_bytes()).collect();
    with_cookie(app, token, Duration::minutes(accounts::CODE_MINUTES), &format!("/sign-in/code?next={next}"))
}

fn with_cookie(app: &App, token: String, lasts: Duration, next: &str) -> Answer {
    let cookie = Cookie::build(app.cookie_name(), token)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.config.is_https())
        .max_age(lasts)
        .finish();
    let mut answer = see_other(next);
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}

fn name_of(req: &HttpRequest) -> String {
    browser::short(req.headers().get(USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or_default())
}

async fn sign_out(app: web::Data<App>, farmer: Farmer) -> Answer {
    let (hash, doing) = (farmer.session_hash.clone(), farmer.doing());
    app.write(move |tx| accounts::sign_out(tx, &doing, &hash)).await?;
    let mut answer: HttpResponse = see_other("/sign-in");
    let mut cookie = Cookie::build(app.cookie_name(), "")
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.config.is_https())
        .finish();
    cookie.make_removal();
    answer.add_cookie(&cookie).map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(answer)
}
