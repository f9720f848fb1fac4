//! The form that puts an animal on a date.

use crate::actions::Failure;
use crate::actions::send_animal::send_animal;
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::animals::Animal;
use crate::book::{animals, dates, placements};
use crate::trade::dates::{full, near};
use crate::trade::vocabulary::Inspection;
use crate::trade::withdrawal;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::dates::slot_words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/animals/send.html")]
struct SendPage {
    frame: Frame,
    draft: Draft,
    animal: Animal,
    dates: Choices,
    owners: String,
    /// The first day it may be killed, while it is inside a withdrawal period.
    earliest: Option<String>,
    custom: bool,
    caution: &'static str,
}

async fn asked(farmer: &Farmer, app: &App, id: AnimalId, draft: Draft) -> Result<SendPage, Failure> {
    let today = farmer.now.today;
    let (animal, own, coming, slots, head, given, shares) = app
        .read(move |c| {
            let animal = animals::get(c, id)?;
            let coming = dates::coming(c, today)?;
            let own = match animal.date_id {
                Some(date) if coming.iter().all(|(d, _)| d.id != date) => Some(dates::get(c, date)?),
                _ => None,
            };
            let past = dates::past(c, today, None, 5)?.into_iter().filter(|(d, _)| d.cancelled_at.is_none());
            let past: Vec<_> = past.filter(|(d, _)| Some(d.id) != animal.date_id).collect();
            let all: Vec<_> = coming.into_iter().chain(past).collect();
            let ids: Vec<_> = all.iter().map(|(d, _)| d.id).collect();
            let given = animals::treatments(c, &[id])?;
            let shares = placements::shares_on(c, &[id])?;
            Ok((animal, own, all, dates::slots(c, &ids)?, dates::head_on(c, &ids)?, given, shares))
        })
        .await?;
    let options = own.iter().chain(&coming).map(|(d, p)| {
        let used = slot_words(d.id, &slots, &head).join(", ");
        let used = if used.is_empty() { String::new() } else { format!(" ({used})") };
        (d.id.to_string(), format!("{}, {}{used}", near(d.kill_on, today), p.name))
    });
    let earliest = match animals::earliest_kill_day(&given) {
        Ok(day) => day.filter(|day| *day > today).map(full),
        Err(_) => Some("its treatments are put right".to_string()),
    };
    Ok(SendPage {
        frame: farmer.frame(Tab::Animals),
        draft,
        dates: options.collect(),
        owners: shares.iter().map(|s| s.name.clone()).collect::<Vec<_>>().join(", "),
        earliest,
        custom: coming.iter().any(|(_, p)| p.inspection == Inspection::Custom),
        caution: withdrawal::CAUTION,
        animal,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let mut asked = asked(&farmer, &app, *id, Draft::empty()).await?;
    asked.draft = Draft::empty()
        .with("version", asked.animal.version.to_string())
        .with_some("date", asked.animal.date_id.map(|d| d.to_string()));
    Ok(page(&asked))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), form.optional_id("date", "Date"));
    let (version, date) = match form.finish(parts) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&asked(&farmer, &app, id, draft).await?)),
    };
    let (to, over_ok) = (date.map(DateId), form.tick("over_ok"));
    let done = app.act(&farmer, &key, move |tx, doing| {
        send_animal(tx, doing, id, version, to, over_ok)?;
        Ok(format!("/animals/{id}"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), if to.is_some() { "Its date is saved." } else { "It has no date now." }))
        }
        Err(Failure::Stale) => {
            let now = asked(&farmer, &app, id, Draft::empty()).await?;
            let stored = Draft::empty()
                .with("version", now.animal.version.to_string())
                .with("date", now.animal.date_id.map(|d| d.to_string()).unwrap_or_default());
            let draft = form.into_draft().stale(&stored, &[], &format!("/animals/{id}"));
            Ok(refused(&SendPage { draft, ..now }))
        }
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
