//! The second step of signing in: the code from the phone, or a recovery code.

use super::sign_in::begin;
use crate::actions::Failure;
use crate::actions::second_factor::{Proof, WRONG_CODE, prove};
use crate::book::rows::accounts::Account;
use crate::book::{accounts as stored, farm, sign_ins};
use crate::secret;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::{HttpRequest, web};
use askama::Template;
use std::collections::HashMap;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/sign-in/code", web::get().to(show));
    cfg.route("/sign-in/code", web::post().to(take));
}

#[derive(Template)]
#[template(path = "account/code.html")]
struct CodePage {
    frame: Frame,
    draft: Draft,
}

async fn code_page(app: &App, draft: Draft) -> Result<CodePage, PageError> {
    let farm = app.read(|c| Ok(farm::get(c)?)).await?;
    let name = if farm.name.is_empty() { "Gambrel".to_string() } else { farm.name };
    Ok(CodePage { frame: Frame { demo: farm.is_demo, ..Frame::new(name, Tab::None) }, draft })
}

/// Whose password fitted in this browser a moment ago, with the hash of its cookie.
async fn half_way(req: &HttpRequest, app: &App) -> Result<(String, Account), PageError> {
    let again = || PageError::SignIn(String::new());
    let token = req.cookie(app.cookie_name()).map(|c| c.value().to_string()).filter(|t| t.len() == 32);
    let hash = secret::hash(&token.ok_or_else(again)?);
    let (asked, at) = (hash.clone(), app.clock.at());
    let found = app.read(move |c| Ok(sign_ins::waiting(c, &asked, at)?)).await?;
    found.map(|(_, account)| (hash, account)).ok_or_else(again)
}

async fn show(req: HttpRequest, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    half_way(&req, &app).await?;
    let next = query.get("next").cloned().unwrap_or_default();
    Ok(page(&code_page(&app, Draft::empty().with("next", next)).await?))
}

async fn take(req: HttpRequest, app: web::Data<App>, sent: Sent) -> Answer {
    let (hash, account) = half_way(&req, &app).await?;
    let form = sent.0;
    let (code, next) = (form.line("code"), form.line("next"));
    // A million codes are not tried ten at a time: the count is per account as well as per address.
    let (from, whose) = (app.visitor(&req), account.id.0);
    if !app.may_try(&format!("code from {from}")) || !app.may_try(&format!("code for {whose}")) {
        return Err(PageError::Slow);
    }
    let (at, asked) = (app.clock.at(), account.clone());
    let taken = app.write(move |tx| {
        let proof = prove(tx, &asked, &code, at)?;
        if proof.is_some() {
            stored::end_session(tx, &hash)?;
        }
        Ok::<_, Failure>(proof)
    });
    let Some(proof) = taken.await? else {
        tracing::warn!("a second factor was refused");
        let draft = Draft::empty().with("next", next).problem("code", WRONG_CODE.trim_end_matches('.'));
        return Ok(refused(&code_page(&app, draft).await?));
    };
    tracing::info!(account = account.id.0, "signed in with a second factor");
    let answer = begin(&req, &app, account.id, if next.is_empty() { "/" } else { &next }).await?;
    Ok(match proof {
        Proof::Phone => answer,
        Proof::Recovery => {
            notice::with(answer, "That recovery code is used up now. Under your account you can see how many are left.")
        }
    })
}
