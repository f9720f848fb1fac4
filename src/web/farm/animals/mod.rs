//! Animals: the list, and the routes of an animal's pages.

use crate::actions::Failure;
use crate::book::animals::{self, Shown, Standing as Stands};
use crate::book::ids::{AnimalId, DateId};
use crate::book::{dates, placements};
use crate::trade::dates::near;
use crate::trade::share::Species;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{free_quarters, free_words};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use actix_web::web;
use askama::Template;
use serde::Deserialize;

mod care;
mod costs;
mod form;
mod lines;
mod lost;
mod propose;
mod send;
mod show;
mod yields;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/animals", web::get().to(list));
    cfg.route("/animals/new", web::get().to(form::new));
    cfg.route("/animals/new", web::post().to(form::add));
    cfg.route("/animals/dates", web::get().to(propose::ask));
    cfg.route("/animals/dates", web::post().to(propose::take));
    cfg.route("/animals/yields", web::get().to(yields::show));
    cfg.route("/animals/{id}", web::get().to(show::show));
    cfg.route("/animals/{id}/give", web::post().to(show::give));
    cfg.route("/animals/{id}/change", web::get().to(form::change));
    cfg.route("/animals/{id}/change", web::post().to(form::save));
    cfg.route("/animals/{id}/weight", web::get().to(care::ask_weight));
    cfg.route("/animals/{id}/weight", web::post().to(care::save_weight));
    cfg.route("/animals/{id}/weight/{row}/take-back", web::post().to(care::take_back_weight));
    cfg.route("/animals/{id}/treatment", web::get().to(care::ask_treatment));
    cfg.route("/animals/{id}/treatment", web::post().to(care::save_treatment));
    cfg.route("/animals/{id}/treatment/{row}/take-back", web::post().to(care::take_back_treatment));
    cfg.route("/animals/{id}/date", web::get().to(send::ask));
    cfg.route("/animals/{id}/date", web::post().to(send::save));
    cfg.route("/animals/{id}/lost", web::get().to(lost::ask));
    cfg.route("/animals/{id}/lost", web::post().to(lost::save));
    cfg.route("/animals/{id}/found", web::post().to(lost::found));
    cfg.route("/animals/{id}/tell/{order}", web::post().to(lost::tell));
}

/// How many animals a page of the list holds.
const PAGE: usize = 40;

#[derive(Debug, Deserialize, Default)]
struct Query {
    species: Option<String>,
    standing: Option<String>,
    date: Option<String>,
    before: Option<String>,
}

struct Line {
    id: AnimalId,
    name: String,
    species: &'static str,
    date: Option<(DateId, String)>,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/animals/list.html")]
struct ListPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    species: Choices,
    standings: Choices,
    dates: Choices,
    lines: Vec<Line>,
    filtered: bool,
    newer: Option<Link>,
    older: Option<Link>,
}

async fn list(farmer: Farmer, app: web::Data<App>, query: web::Query<Query>) -> Answer {
    let today = farmer.now.today;
    let q = query.into_inner();
    let species: Option<Species> = q.species.as_deref().and_then(|s| s.parse().ok());
    let standing: Option<Stands> = q.standing.as_deref().and_then(|s| s.parse().ok());
    let date: Option<DateId> = q.date.as_deref().and_then(|s| s.parse().ok());
    let before: Option<AnimalId> = q.before.as_deref().and_then(|s| s.parse().ok());
    let shown = Shown { species, date, standing };
    let (mut rows, shares, late, coming, chosen) = app
        .read(move |c| {
            let rows = animals::page(c, shown, before, i64::try_from(PAGE + 1).unwrap_or(41))?;
            let ids: Vec<_> = rows.iter().map(|(a, ..)| a.id).collect();
            let coming = dates::coming(c, today)?;
            let chosen = match date {
                Some(id) if coming.iter().all(|(d, _)| d.id != id) => Some(dates::get(c, id)?),
                _ => None,
            };
            Ok::<_, Failure>((rows, placements::shares_on(c, &ids)?, animals::in_withdrawal(c)?, coming, chosen))
        })
        .await?;
    let more = rows.len() > PAGE;
    rows.truncate(PAGE);
    let kept = |before: Option<AnimalId>| {
        let mut out = form_urlencoded::Serializer::new(String::new());
        for (name, value) in [
            ("species", species.map(|s| s.as_str().to_string())),
            ("standing", standing.map(|s| s.as_str().to_string())),
            ("date", date.map(|d| d.to_string())),
            ("before", before.map(|b| b.to_string())),
        ] {
            if let Some(value) = value {
                out.append_pair(name, &value);
            }
        }
        format!("/animals?{}", out.finish())
    };
    let older = rows.last().filter(|_| more).map(|(a, ..)| Link::new(kept(Some(a.id)), "Older"));
    let newer = before.map(|_| Link::new(kept(None), "Newest"));
    let lines: Vec<_> = rows
        .iter()
        .map(|(a, kill_on, weighed)| {
            let standing = if a.lost_on.is_some() {
                Standing::wait("Lost")
            } else if let Some(w) = late.iter().find(|w| w.animal == a.id) {
                let day = w.earliest.map_or("put right".into(), |day| near(day, today));
                Standing::late(format!("Withdrawal until {day}"))
            } else if *weighed {
                Standing::done("Weighed in")
            } else {
                match free_quarters(a, &shares) {
                    0 => Standing::done("All sold"),
                    n if kill_on.is_some() => Standing::todo(free_words(n)),
                    n => Standing::wait(free_words(n)),
                }
            };
            Line {
                id: a.id,
                name: a.name(),
                species: a.species.label(),
                date: a.date_id.zip(kill_on.map(|day| near(day, today))),
                standing,
            }
        })
        .collect();
    let filtered = species.is_some() || standing.is_some() || date.is_some();
    let options = coming.iter().chain(chosen.as_ref());
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Animals),
        draft: Draft::empty()
            .with_some("species", species.map(Species::as_str))
            .with_some("standing", standing.map(Stands::as_str))
            .with_some("date", date.map(|d| d.to_string())),
        heading: species.map_or("Animals".to_string(), |s| format!("Animals, {}", s.label())),
        species: choices(Species::ALL, Species::as_str, Species::label),
        standings: choices(Stands::ALL, Stands::as_str, Stands::label),
        dates: options.map(|(d, p)| (d.id.to_string(), format!("{}, {}", near(d.kill_on, today), p.name))).collect(),
        lines,
        filtered,
        newer,
        older,
    }))
}

/// "Beef": for the line above the heading.
fn species_title(species: Species) -> String {
    capital(species.label())
}
