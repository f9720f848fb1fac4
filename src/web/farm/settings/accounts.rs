//! Who may sign in: the accounts of the farm, letting another person in, switching one off.

use crate::actions::let_in::{self, LINK_DAYS, PersonIn};
use crate::actions::{Failure, mail_password_link};
use crate::book::accounts;
use crate::book::ids::AccountId;
use crate::secret;
use crate::trade::vocabulary::Role;
use crate::web::account::own::{account_of, prove_password};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::{HttpRequest, web};
use askama::Template;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/accounts", web::get().to(show));
    cfg.route("/settings/accounts", web::post().to(add));
    cfg.route("/settings/accounts/{id}/link", web::post().to(link));
    cfg.route("/settings/accounts/{id}/switch", web::post().to(switch));
}

const HERE: &str = "/settings/accounts";

struct Row {
    id: AccountId,
    name: String,
    mail: String,
    role: &'static str,
    is_on: bool,
    is_own: bool,
    has_password: bool,
}

#[derive(Template)]
#[template(path = "farm/accounts.html")]
struct AccountsPage {
    frame: Frame,
    draft: Draft,
    rows: Vec<Row>,
    roles: Choices,
    days: i64,
}

#[derive(Template)]
#[template(path = "farm/account_link.html")]
struct LinkPage {
    frame: Frame,
    name: String,
    url: String,
    mailed: bool,
    days: i64,
}

async fn accounts_page(farmer: &Farmer, app: &App, draft: Draft) -> Result<AccountsPage, PageError> {
    let own = farmer.account;
    let rows = app.read(|c| Ok(accounts::all(c)?)).await?.into_iter().map(|a| Row {
        is_own: a.id == own,
        id: a.id,
        name: a.name,
        mail: a.mail,
        role: a.role.label(),
        is_on: a.disabled_at.is_none(),
        has_password: let_in::has_password(&a.password_hash),
    });
    Ok(AccountsPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        rows: rows.collect(),
        roles: choices(Role::ALL, Role::as_str, Role::label),
        days: LINK_DAYS,
    })
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&accounts_page(&farmer, &app, Draft::empty().with("role", Role::Helper.as_str())).await?))
}

/// The link is shown this once, and mailed where that is possible.
async fn shown(farmer: &Farmer, app: &web::Data<App>, req: &HttpRequest, id: AccountId, token: &str) -> Answer {
    let account =
        app.read(move |c| accounts::all(c)?.into_iter().find(|a| a.id == id).ok_or(Failure::NotFound)).await?;
    let url = format!("{}/sign-in/new/{token}", app.base(req));
    // A mail carries a link only to an address that no visitor can forge.
    let mailed = app.config.smtp_url.is_some() && app.config.public_url.is_some();
    if mailed {
        let (app, at, link) = (app.clone(), app.clock.at(), url.clone());
        let (name, mail) = (account.name.clone(), account.mail);
        actix_web::rt::spawn(async move {
            let sent = mail_password_link::invite(&app.config, &app.store, &name, &mail, &link, at);
            if let Err(why) = sent.await {
                tracing::error!("a new person could not be sent the link: {why}");
            }
        });
    }
    Ok(page(&LinkPage { frame: farmer.frame(Tab::Settings), name: account.name, url, mailed, days: LINK_DAYS }))
}

fn read(form: &mut FormIn) -> Option<PersonIn> {
    let name = form.text("name", "Name", 120);
    let mail = form.mail_address("mail", "Mail address");
    let role = form.word::<Role>("role", "What they may do");
    Some(PersonIn { name: name?, mail: mail?, role: role? })
}

async fn add(farmer: Farmer, app: web::Data<App>, req: HttpRequest, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let input = read(&mut form);
    prove_password(&app, &account_of(&app, &farmer).await?, &mut form).await?;
    let input = match form.clone().finish((input,)) {
        Ok((input,)) => input,
        Err(draft) => return Ok(refused(&accounts_page(&farmer, &app, draft.without("password")).await?)),
    };
    let token = secret::token().map_err(Failure::Unexpected)?;
    let made: Arc<std::sync::Mutex<Option<AccountId>>> = Arc::default();
    let (mine, out) = (token.clone(), made.clone());
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = let_in::add_person(tx, doing, &input, &mine)?;
        if let Ok(mut slot) = out.lock() {
            *slot = Some(id);
        }
        Ok(HERE.into())
    });
    if let Err(failure) = done.await {
        let draft = refusal(&form, failure)?.without("password");
        return Ok(refused(&accounts_page(&farmer, &app, draft).await?));
    }
    let id = made.lock().ok().and_then(|slot| *slot);
    match id {
        Some(id) => shown(&farmer, &app, &req, id, &token).await,
        None => {
            Ok(notice::with(see_other(HERE), "That person is let in already. Make another link if this one was lost."))
        }
    }
}

async fn link(farmer: Farmer, app: web::Data<App>, req: HttpRequest, id: web::Path<i64>, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    let (id, token) = (AccountId(*id), secret::token().map_err(Failure::Unexpected)?);
    let fresh = Arc::new(AtomicBool::new(false));
    let (mine, first) = (token.clone(), fresh.clone());
    app.act(&farmer, &key, move |tx, doing| {
        let_in::link_again(tx, doing, id, &mine)?;
        first.store(true, Ordering::SeqCst);
        Ok(HERE.into())
    })
    .await?;
    if fresh.load(Ordering::SeqCst) {
        return shown(&farmer, &app, &req, id, &token).await;
    }
    Ok(notice::with(see_other(HERE), "That link was shown already and cannot be shown again. Make another one."))
}

async fn switch(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let (id, on) = (AccountId(*id), form.line("on") == "yes");
    let to = app
        .act(&farmer, &key, move |tx, doing| {
            let_in::switch(tx, doing, id, on)?;
            Ok(HERE.into())
        })
        .await?;
    Ok(notice::with(
        see_other(&to),
        if on { "They may sign in again." } else { "They are signed out and cannot sign in." },
    ))
}
