//! Putting several head on a date at once.

use crate::actions::Failure;
use crate::actions::send_animal::send_animal;
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{animals, dates};
use crate::trade::dates::{long, short};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// One head that could go.
struct Candidate {
    id: AnimalId,
    name: String,
    why: String,
    /// The day it may be killed from, when that is after the date.
    too_early: Option<String>,
}

#[derive(Template)]
#[template(path = "farm/dates/head.html")]
struct HeadPage {
    frame: Frame,
    draft: Draft,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    slots: String,
    head: Vec<Candidate>,
}

async fn asked(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<HeadPage, Failure> {
    let today = farmer.now.today;
    let unit = farmer.unit();
    let ((date, plant), slots, on, alive, live, given) = app
        .read(move |c| {
            let alive: Vec<_> =
                animals::alive(c, None)?.into_iter().map(|(a, _)| a).filter(|a| a.date_id.is_none()).collect();
            let ids: Vec<_> = alive.iter().map(|a| a.id).collect();
            Ok((
                dates::get(c, id)?,
                dates::slots(c, &[id])?,
                dates::head_on(c, &[id])?,
                alive,
                animals::last_live_weights(c, &ids)?,
                animals::treatments(c, &ids)?,
            ))
        })
        .await?;
    let head = alive
        .into_iter()
        .map(|a| {
            let own: Vec<_> = given.iter().filter(|t| t.animal_id == a.id).cloned().collect();
            let earliest = animals::earliest_kill_day(&own);
            let weighed =
                live.get(&a.id).map(|w| format!("{} {unit} on {}", w.weight.short(), short(w.weighed_on, today)));
            Candidate {
                id: a.id,
                name: a.name(),
                why: [Some(capital(a.species.label())), weighed].into_iter().flatten().collect::<Vec<_>>().join(" · "),
                too_early: match earliest {
                    Ok(day) => day.filter(|d| *d > date.kill_on).map(|d| short(d, today)),
                    Err(_) => Some("its treatments are put right".into()),
                },
            }
        })
        .collect();
    Ok(HeadPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        day: long(date.kill_on, today),
        slots: super::slot_words(id, &slots, &on).join(", "),
        date,
        plant,
        head,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&asked(&farmer, &app, *id, Draft::empty()).await?))
}

pub(super) async fn put(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let chosen = form.ids("animal", "Animals");
    if chosen.as_ref().is_some_and(Vec::is_empty) {
        form.problem("animal", "No head is ticked. Tick those that go.");
    }
    let chosen = match form.finish((chosen,)) {
        Ok((chosen,)) => chosen,
        Err(draft) => return Ok(refused(&asked(&farmer, &app, id, draft).await?)),
    };
    let (n, over_ok) = (chosen.len(), form.tick("over_ok"));
    let done = app.act(&farmer, &key, move |tx, doing| {
        for animal in &chosen {
            let stored = animals::get(tx.conn(), AnimalId(*animal))?;
            match send_animal(tx, doing, stored.id, stored.version, Some(id), over_ok) {
                Err(Failure::Refused(mut why)) => {
                    for p in why.0.iter_mut().filter(|p| p.field == "date") {
                        p.field = format!("animal-{animal}");
                    }
                    return Err(Failure::Refused(why));
                }
                other => other?,
            }
        }
        Ok(format!("/dates/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("{} head go on this date.", count(n)))),
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
