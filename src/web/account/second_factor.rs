//! Switching the second factor on and off, and new recovery codes.

use super::own::{account_of, prove_password};
use crate::actions::second_factor::{new_codes, new_secret, phone_address, switch_off, switch_on};
use crate::actions::{Doing, Failure};
use crate::book::rows::accounts::Account;
use crate::book::store::Tx;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::qr::QrPicture;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::sync::{Arc, Mutex};

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/account/second-factor", web::get().to(show));
    cfg.route("/account/second-factor", web::post().to(on));
    cfg.route("/account/second-factor/off", web::get().to(show_off));
    cfg.route("/account/second-factor/off", web::post().to(off));
    cfg.route("/account/second-factor/codes", web::get().to(show_codes));
    cfg.route("/account/second-factor/codes", web::post().to(codes));
}

#[derive(Template)]
#[template(path = "account/second_factor.html")]
struct OnPage {
    frame: Frame,
    draft: Draft,
    picture: QrPicture,
    /// The secret in groups of four letters, for typing.
    typed: String,
}

#[derive(Template)]
#[template(path = "account/prove.html")]
struct ProvePage {
    frame: Frame,
    draft: Draft,
    heading: &'static str,
    says: &'static str,
    button: &'static str,
}

#[derive(Template)]
#[template(path = "account/codes.html")]
struct CodesPage {
    frame: Frame,
    codes: Vec<String>,
}

fn on_page(farmer: &Farmer, account: &Account, draft: Draft) -> Result<OnPage, PageError> {
    let secret = draft.val("secret").to_string();
    let address = phone_address(&secret, &farmer.farm.name, &account.mail)?;
    let picture = QrPicture::of(&address)?;
    let letters: Vec<char> = secret.chars().collect();
    let typed = letters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join(" ");
    Ok(OnPage { frame: farmer.frame(Tab::Settings), draft, picture, typed })
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let account = account_of(&app, &farmer).await?;
    if account.totp_secret.is_some() {
        return Ok(see_other("/account"));
    }
    Ok(page(&on_page(&farmer, &account, Draft::empty().with("secret", new_secret()?))?))
}

async fn on(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let account = account_of(&app, &farmer).await?;
    if account.totp_secret.is_some() {
        return Ok(notice::with(see_other("/account"), "The second factor is on already."));
    }
    let (secret, code) = (form.line("secret"), form.line("code"));
    // A secret that is none of ours is replaced, not shown again.
    if phone_address(&secret, "x", "x").is_err() {
        return Ok(see_other("/account/second-factor"));
    }
    prove_password(&app, &account, &mut form).await?;
    if code.is_empty() {
        form.problem("code", "Type the six figures that the phone shows");
    }
    if let Err(draft) = form.clone().finish((Some(()),)) {
        return Ok(refused(&on_page(&farmer, &account, draft.without("password"))?));
    }
    let done = shown_once(&farmer, &app, &key, move |tx, doing| {
        switch_on(tx, farmer_of(doing)?, &secret, &code, doing.now.at)
    });
    match done.await {
        Ok(answer) => Ok(answer),
        Err(failure) => Ok(refused(&on_page(&farmer, &account, refusal(&form, failure)?.without("password"))?)),
    }
}

fn farmer_of(doing: &Doing) -> Result<crate::book::ids::AccountId, Failure> {
    doing.account.ok_or(Failure::Forbidden)
}

/// Does it once and answers with the codes, which are shown this once; the same form sent again leads to the account.
async fn shown_once<F>(farmer: &Farmer, app: &App, key: &str, make: F) -> Result<actix_web::HttpResponse, Failure>
where
    F: Fn(&mut Tx, &Doing) -> Result<Vec<String>, Failure> + Send + 'static,
{
    let made: Arc<Mutex<Vec<String>>> = Arc::default();
    let keep = made.clone();
    let to = app
        .act(farmer, key, move |tx, doing| {
            let codes = make(tx, doing)?;
            if let Ok(mut kept) = keep.lock() {
                *kept = codes;
            }
            Ok("/account".into())
        })
        .await?;
    let codes = made.lock().map(|kept| kept.clone()).unwrap_or_default();
    if codes.is_empty() {
        return Ok(see_other(&to));
    }
    Ok(page(&CodesPage { frame: farmer.frame(Tab::Settings), codes }))
}

fn prove_page(farmer: &Farmer, draft: Draft, is_off: bool) -> ProvePage {
    let (heading, says, button) = if is_off {
        (
            "Switch the second factor off",
            "From then on your password alone is enough to sign in. The recovery codes stop being good.",
            "Switch it off",
        )
    } else {
        (
            "New recovery codes",
            "The old ones stop being good. The new ones are shown once, on the next page.",
            "Make new codes",
        )
    };
    ProvePage { frame: farmer.frame(Tab::Settings), draft, heading, says, button }
}

async fn show_off(farmer: Farmer) -> Answer {
    Ok(page(&prove_page(&farmer, Draft::empty(), true)))
}

async fn show_codes(farmer: Farmer) -> Answer {
    Ok(page(&prove_page(&farmer, Draft::empty(), false)))
}

/// The form of [`prove_page`], read: refused, or the account whose password fitted.
async fn proved(
    farmer: &Farmer,
    app: &App,
    form: &mut FormIn,
    is_off: bool,
) -> Result<Result<Account, actix_web::HttpResponse>, PageError> {
    let account = account_of(app, farmer).await?;
    prove_password(app, &account, form).await?;
    if account.totp_secret.is_none() {
        form.problem("", "The second factor is off");
    }
    Ok(match form.clone().finish((Some(()),)) {
        Ok(_) => Ok(account),
        Err(draft) => Err(refused(&prove_page(farmer, draft.without("password"), is_off))),
    })
}

async fn off(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let account = match proved(&farmer, &app, &mut form, true).await? {
        Ok(account) => account,
        Err(answer) => return Ok(answer),
    };
    let to = app.act(&farmer, &key, move |tx, doing| {
        switch_off(tx, account.id, doing.now.at)?;
        Ok("/account".into())
    });
    Ok(notice::with(see_other(&to.await?), "The second factor is off."))
}

async fn codes(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let account = match proved(&farmer, &app, &mut form, false).await? {
        Ok(account) => account,
        Err(answer) => return Ok(answer),
    };
    Ok(shown_once(&farmer, &app, &key, move |tx, doing| new_codes(tx, account.id, doing.now.at)).await?)
}
