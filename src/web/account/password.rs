//! Choosing another password while signed in.

use super::lost;
use super::own::{account_of, prove_password};
use crate::actions::accounts::{hash_password, password_problem};
use crate::actions::{Failure, change_password};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/account/password", web::get().to(show));
    cfg.route("/account/password", web::post().to(save));
}

#[derive(Template)]
#[template(path = "account/password.html")]
struct PasswordPage {
    frame: Frame,
    draft: Draft,
}

async fn show(farmer: Farmer) -> Answer {
    Ok(page(&PasswordPage { frame: farmer.frame(Tab::Settings), draft: Draft::empty() }))
}

async fn save(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let account = account_of(&app, &farmer).await?;
    let new = form.raw("new").to_string();
    prove_password(&app, &account, &mut form).await?;
    if let Some(problem) = password_problem(&new, &account.mail, &account.name) {
        form.problem("new", problem);
    }
    let refuse = |draft| Ok(refused(&PasswordPage { frame: farmer.frame(Tab::Settings), draft }));
    if let Err(draft) = form.clone().finish((Some(()),)) {
        return refuse(draft.without("password").without("new"));
    }
    let turn = app.hashing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let hash = web::block(move || hash_password(&new)).await.map_err(|e| Failure::Unexpected(e.to_string()))??;
    drop(turn);
    let (this, person) = (farmer.session_hash.clone(), account.clone());
    let done = app.act(&farmer, &key, move |tx, _| {
        change_password::change(tx, account.id, &hash, &this)?;
        Ok("/account".into())
    });
    match done.await {
        Ok(to) => {
            lost::tell_changed(&app, person);
            let says = "Your new password is good from now on. Other browsers were signed out.";
            Ok(notice::with(see_other(&to), says))
        }
        Err(failure) => refuse(refusal(&form, failure)?.without("password").without("new")),
    }
}
