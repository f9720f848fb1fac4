//! A forgotten password: a link by mail to the known address, and choosing another password with it.

use crate::actions::accounts::{hash_password, password_problem};
use crate::actions::{Failure, change_password, mail_password_link};
use crate::book::rows::accounts::Account;
use crate::book::{farm, passwords};
use crate::secret;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError, error_page};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/sign-in/lost", web::get().to(show));
    cfg.route("/sign-in/lost", web::post().to(ask));
    cfg.route("/sign-in/new/{token}", web::get().to(choose));
    cfg.route("/sign-in/new", web::post().to(save));
}

#[derive(Template)]
#[template(path = "account/lost.html")]
struct LostPage {
    frame: Frame,
    draft: Draft,
    has_mail: bool,
    asked: bool,
}

#[derive(Template)]
#[template(path = "account/new_password.html")]
struct NewPage {
    frame: Frame,
    draft: Draft,
    mail: String,
}

async fn plain_frame(app: &App) -> Result<Frame, PageError> {
    let farm = app.read(|c| Ok(farm::get(c)?)).await?;
    let name = if farm.name.is_empty() { "Gambrel".to_string() } else { farm.name };
    Ok(Frame { demo: farm.is_demo, ..Frame::new(name, Tab::None) })
}

/// Whether a link can be mailed: there is a mail server, and an address the service is reached at that no visitor can forge.
fn can_mail(app: &App) -> bool {
    app.config.smtp_url.is_some() && app.config.public_url.is_some()
}

async fn show(app: web::Data<App>) -> Answer {
    let frame = plain_frame(&app).await?;
    Ok(page(&LostPage { frame, draft: Draft::empty(), has_mail: can_mail(&app), asked: false }))
}

async fn ask(req: HttpRequest, app: web::Data<App>, sent: Sent) -> Answer {
    let mut form = sent.0;
    let mail = form.mail_address("mail", "Mail address");
    let frame = plain_frame(&app).await?;
    let mail = match form.finish((mail,)) {
        Ok((mail,)) => mail.to_lowercase(),
        Err(draft) => return Ok(refused(&LostPage { frame, draft, has_mail: can_mail(&app), asked: false })),
    };
    let from = app.visitor(&req);
    if !app.may_try(&format!("lost from {from}")) || !app.may_try(&format!("lost for {mail}")) {
        return Err(PageError::Slow);
    }
    if can_mail(&app) {
        // Beside the answer, so that nobody learns from the time it takes whether the address has an account.
        actix_web::rt::spawn(mail_link(app.clone(), mail));
    }
    Ok(page(&LostPage { frame, draft: Draft::empty(), has_mail: can_mail(&app), asked: true }))
}

async fn mail_link(app: web::Data<App>, mail: String) {
    if let Err(why) = try_mail_link(&app, mail).await {
        tracing::error!("a link for another password could not be sent: {why}");
    }
}

async fn try_mail_link(app: &App, mail: String) -> Result<(), String> {
    let (token, at) = (secret::token()?, app.clock.at());
    let minted = token.clone();
    let account =
        app.write(move |tx| change_password::make_link(tx, &mail, &minted, at)).await.map_err(|e| e.to_string())?;
    let Some(account) = account else { return Ok(()) };
    let url = app.config.public_url.clone().unwrap_or_default();
    let link = format!("{url}/sign-in/new/{token}");
    mail_password_link::send(&app.config, &app.store, &account.name, &account.mail, &link, at).await
}

/// Tells a person by mail that their password was changed, beside the answer; nothing where no mail can be sent.
pub fn tell_changed(app: &web::Data<App>, account: Account) {
    if app.config.smtp_url.is_none() {
        return;
    }
    let (app, at) = (app.clone(), app.clock.at());
    actix_web::rt::spawn(async move {
        let told = mail_password_link::tell_changed(&app.config, &app.store, &account.name, &account.mail, at);
        if let Err(why) = told.await {
            tracing::error!("a person could not be told that the password was changed: {why}");
        }
    });
}

/// The account a link belongs to, or the page that says it is no good.
async fn account_of(app: &App, token: &str) -> Result<Option<Account>, PageError> {
    let (hash, at) = (secret::hash(token), app.clock.at());
    Ok(app.read(move |c| Ok(passwords::account_of_link(c, &hash, at)?)).await?)
}

fn gone() -> actix_web::HttpResponse {
    error_page(
        StatusCode::NOT_FOUND,
        "This link does not work any more",
        "It was used already or is too old. Ask for a new one from the sign-in page.",
        "",
    )
}

async fn choose(app: web::Data<App>, token: web::Path<String>) -> Answer {
    let token = token.into_inner();
    let Some(account) = account_of(&app, &token).await? else { return Ok(gone()) };
    let draft = Draft::empty().with("token", token);
    Ok(page(&NewPage { frame: plain_frame(&app).await?, draft, mail: account.mail }))
}

async fn save(app: web::Data<App>, sent: Sent) -> Answer {
    let mut form = sent.0;
    let (token, new) = (form.line("token"), form.raw("new").to_string());
    let Some(account) = account_of(&app, &token).await? else { return Ok(gone()) };
    if let Some(problem) = password_problem(&new, &account.mail, &account.name) {
        form.problem("new", problem);
    }
    let frame = plain_frame(&app).await?;
    if let Err(draft) = form.clone().finish((Some(()),)) {
        return Ok(refused(&NewPage { frame, draft: draft.without("new"), mail: account.mail }));
    }
    let turn = app.hashing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let hash = web::block(move || hash_password(&new)).await.map_err(|e| Failure::Unexpected(e.to_string()))??;
    drop(turn);
    let at = app.clock.at();
    match app.write(move |tx| change_password::with_link(tx, &token, &hash, at)).await {
        Ok(account) => {
            tell_changed(&app, account);
            Ok(notice::with(see_other("/sign-in"), "Your new password is good. Sign in with it."))
        }
        Err(failure) => {
            let draft = refusal(&form, failure)?.without("new");
            Ok(refused(&NewPage { frame, draft, mail: account.mail }))
        }
    }
}
