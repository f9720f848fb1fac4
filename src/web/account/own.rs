//! A person's own account: who they are, how they get in, and where they are signed in.

use crate::actions::Failure;
use crate::actions::accounts::password_fits;
use crate::book::at::At;
use crate::book::rows::accounts::Account;
use crate::book::{second_factors, sign_ins};
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/account", web::get().to(show));
    cfg.route("/account/sign-ins/end", web::post().to(end));
}

struct SignedIn {
    id: String,
    browser: String,
    since: String,
    last: String,
    is_this: bool,
}

#[derive(Template)]
#[template(path = "account/own.html")]
struct OwnPage {
    frame: Frame,
    name: String,
    mail: String,
    role: &'static str,
    /// Since when the second factor is on; empty: off.
    factor_since: String,
    codes_left: i64,
    signed_in: Vec<SignedIn>,
}

/// "Friday, November 27, 11:34 AM".
fn moment(farmer: &Farmer, at: At) -> String {
    let local = at.utc().with_timezone(&farmer.now.zone);
    format!("{}, {}", dates::long(local.date_naive(), farmer.now.today), local.format("%-I:%M %p"))
}

/// This person's account as it is stored.
///
/// # Errors
/// Those of the book.
pub async fn account_of(app: &App, farmer: &Farmer) -> Result<Account, PageError> {
    let id = farmer.account;
    Ok(app.read(move |c| second_factors::account(c, id)?.ok_or(Failure::NotFound)).await?)
}

/// Asks the field `password` of a form to be this person's, before something about getting in is changed; a problem at the
/// field when it is not.
///
/// # Errors
/// [`PageError::Slow`] after ten tries.
pub async fn prove_password(app: &App, account: &Account, form: &mut FormIn) -> Result<(), PageError> {
    let password = form.raw("password").to_string();
    if password.is_empty() || password.len() > 800 {
        form.problem("password", "Write the password you sign in with");
        return Ok(());
    }
    if !app.may_try(&format!("for {}", account.mail)) {
        return Err(PageError::Slow);
    }
    let _turn = app.hashing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let hash = account.password_hash.clone();
    let fits = web::block(move || password_fits(&password, Some(&hash)))
        .await
        .map_err(|e| Failure::Unexpected(e.to_string()))?;
    if !fits {
        form.problem("password", "That is not the password you sign in with");
    }
    Ok(())
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (id, at) = (farmer.account, farmer.now.at);
    let read = app.read(move |c| {
        let account = second_factors::account(c, id)?.ok_or(Failure::NotFound)?;
        Ok((account, second_factors::codes_left(c, id)?, sign_ins::of(c, id, at)?))
    });
    let (account, codes_left, sessions) = read.await?;
    let signed_in = sessions.into_iter().map(|s| SignedIn {
        is_this: s.id_hash == farmer.session_hash,
        browser: if s.browser.is_empty() { "A browser".into() } else { s.browser },
        since: moment(&farmer, s.created_at),
        last: moment(&farmer, s.last_seen_at),
        id: s.id_hash,
    });
    Ok(page(&OwnPage {
        signed_in: signed_in.collect(),
        frame: farmer.frame(Tab::Settings),
        name: account.name,
        mail: account.mail,
        role: account.role.label(),
        factor_since: account.totp_since.map(|at| moment(&farmer, at)).unwrap_or_default(),
        codes_left,
    }))
}

async fn end(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let which = form.line("which");
    let this = farmer.session_hash.clone();
    let to = app
        .act(&farmer, &key, move |tx, doing| {
            let Some(account) = doing.account else { return Err(Failure::Forbidden) };
            if which == "others" {
                sign_ins::end_others(tx, account, &this)?;
            } else if which == this || !sign_ins::end_one(tx, account, &which)? {
                return Err(Failure::refuse("", "That sign-in is over already."));
            }
            Ok("/account".into())
        })
        .await?;
    Ok(notice::with(see_other(&to), "Signed out there."))
}
