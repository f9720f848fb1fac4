//! The link printed at the first start: it makes the first account, once.

use super::super::app::App;
use super::super::errors::Answer;
use super::super::look::draft::Draft;
use super::super::look::respond::{page, refused};
use super::super::look::{Frame, Tab};
use super::super::sent::{Sent, refusal};
use super::sign_in::begin;
use crate::actions::Failure;
use crate::actions::accounts::{self, FirstAccount};
use crate::book::accounts as stored;
use crate::secret;
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

/// The routes of the first-account link.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/start/{token}", web::get().to(show));
    cfg.route("/start", web::post().to(make));
}

#[derive(Template)]
#[template(path = "account/start.html")]
struct StartPage {
    frame: Frame,
    draft: Draft,
}

fn form_page(draft: Draft) -> StartPage {
    StartPage { frame: Frame::new("Gambrel", Tab::None), draft }
}

async fn show(app: web::Data<App>, token: web::Path<String>) -> Answer {
    let token = token.into_inner();
    let (hash, at) = (secret::hash(&token), app.clock.at());
    if !app.read(move |c| Ok(stored::setup_link_is_good(c, &hash, at)?)).await? {
        return Ok(super::super::errors::error_page(
            StatusCode::NOT_FOUND,
            "This link does not work any more",
            "It was used already or is older than 30 minutes. Start Gambrel again and use the new link it prints, or sign in.",
            "",
        ));
    }
    Ok(page(&form_page(Draft::empty().with("token", token))))
}

async fn make(req: HttpRequest, app: web::Data<App>, sent: Sent) -> Answer {
    let mut form = sent.0;
    let (name, mail) = (form.text("name", "Your name", 120), form.mail_address("mail", "Mail address"));
    let password = form.raw("password").to_string();
    if let Some(problem) = accounts::password_problem(&password, &form.line("mail"), &form.line("name")) {
        form.problem("password", problem);
    }
    let token = form.line("token");
    let (name, mail) = match form.finish((name, mail)) {
        Ok(both) => both,
        Err(draft) => return Ok(refused(&form_page(draft))),
    };
    let _turn = app.hashing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let password_hash = web::block(move || accounts::hash_password(&password))
        .await
        .map_err(|e| Failure::Unexpected(e.to_string()))??;
    let input = FirstAccount { token, name, mail: mail.clone(), password_hash };
    let at = app.clock.at();
    if let Err(f) = app.write(move |tx| accounts::make_first_account(tx, at, &input)).await {
        return Ok(refused(&form_page(refusal(&form, f)?)));
    }
    let account = app.read(move |c| Ok(stored::by_mail(c, &mail)?)).await?.ok_or(Failure::NotFound)?;
    begin(&req, &app, account.id, "/set-up/farm").await
}
