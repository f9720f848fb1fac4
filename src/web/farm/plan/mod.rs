//! The plan: which share best goes to which animal and date, beside how it stands today; taken whole or in part.

use crate::actions::Failure;
use crate::actions::accept_plan::{Accept, accept_plan};
use crate::actions::ask_place::lock_place;
use crate::actions::propose_plan::{How, Pin, Proposal, propose};
use crate::book::acceptances;
use crate::book::ids::ReservationId;
use crate::book::planning::situation;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use settings::Settings;
use std::collections::HashMap;

mod accepted;
mod lines;
mod page;
mod rows;
mod settings;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/plan", web::get().to(show));
    cfg.route("/plan", web::post().to(act));
    cfg.route("/plan/accepted/{id}", web::get().to(accepted::show));
    cfg.route("/plan/accepted/{id}/tell", web::post().to(accepted::tell));
    cfg.route("/plan/accepted/{id}/undo", web::post().to(accepted::undo));
}

/// Reckons a proposal. One at a time, on a blocking thread, and not on one of the book's connections.
async fn proposal(farmer: &Farmer, app: &App, settings: &Settings, pins: Vec<Pin>) -> Result<Proposal, Failure> {
    let (today, species, unit) = (farmer.now.today, settings.species, farmer.farm.unit);
    let how = How { species, keep: settings.keep, open_from: settings.from, pins };
    let stands = app.read(move |c| Ok(situation(c, today, species)?)).await?;
    let turn = app.planning.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    let found =
        web::block(move || propose(stands, &how, unit)).await.map_err(|e| Failure::Unexpected(e.to_string()))?;
    drop(turn);
    found
}

/// The page with a proposal and what was typed; when what is put somewhere by hand cannot be, the proposal is made without it.
async fn shown(
    farmer: &Farmer,
    app: &App,
    settings: &Settings,
    form: Option<FormIn>,
) -> Result<(page::PlanPage, bool), PageError> {
    let mut draft = form.clone().map_or_else(Draft::empty, FormIn::into_draft);
    let pins = form.as_ref().map_or_else(Vec::new, lines::pins);
    let found = match proposal(farmer, app, settings, pins).await {
        Err(Failure::Refused(p)) if form.is_some() => {
            for one in p.0 {
                draft = draft.problem(one.field, one.sentence);
            }
            proposal(farmer, app, settings, Vec::new()).await?
        }
        other => other?,
    };
    let last = app.read(|c| Ok(acceptances::last(c)?)).await?;
    let is_refused = draft.is_refused();
    Ok((page::PlanPage::new(farmer, settings, &found, draft, last), is_refused))
}

async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let settings = Settings::read(|name| query.get(name).cloned().unwrap_or_default(), &farmer);
    Ok(page(&shown(&farmer, &app, &settings, None).await?.0))
}

/// Takes the proposal or a part of it, locks a share, or plans again around what was put somewhere by hand.
async fn act(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let settings = Settings::read(|name| form.line(name), &farmer);
    let asked = form.line("act");
    if let Some((word, id)) = asked.split_once('-')
        && let Ok(id) = id.parse::<ReservationId>()
    {
        let (lock, url) = (word == "lock", settings.url());
        let done = app.act(&farmer, &key, move |tx, doing| {
            lock_place(tx, doing, id, lock)?;
            Ok(url.clone())
        });
        let says = if lock { "Locked. The rest is planned around it." } else { "It may be moved again." };
        return Ok(notice::with(see_other(&done.await?), says));
    }
    let taken = match asked.as_str() {
        "all" => lines::takes(&form, true),
        "some" => lines::takes(&form, false),
        _ => {
            let (again, is_refused) = shown(&farmer, &app, &settings, Some(form)).await?;
            return Ok(if is_refused { refused(&again) } else { page(&again) });
        }
    };
    let Some(taken) = taken else {
        form.problem("take", "A line is not of this page. Look over the proposal again.");
        return Ok(refused(&shown(&farmer, &app, &settings, Some(form)).await?.0));
    };
    let accept = Accept { basis: form.line("basis"), species: settings.species, lines: taken };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = accept_plan(tx, doing, &accept)?;
        Ok(format!("/plan/accepted/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The shares have their new places. Nobody was told yet.")),
        Err(f) => {
            refusal(&form, f).map(|draft| {
                for one in draft.problems() {
                    form.problem(&one.field, one.says.clone());
                }
            })?;
            Ok(refused(&shown(&farmer, &app, &settings, Some(form)).await?.0))
        }
    }
}
