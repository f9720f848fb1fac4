//! The form for booking a date and changing it.

use crate::actions::Failure;
use crate::actions::book_date::{DateFacts, book_date, change_date};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, ProcessorId};
use crate::book::rows::plants::{DateSlot, ProcessingDate, Processor};
use crate::book::{dates, plants};
use crate::trade::dates::long;
use crate::trade::share::Species;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "farm/dates/form.html")]
struct FormPage {
    frame: Frame,
    draft: Draft,
    plants: Choices,
    /// Field, label and species of each kind of slot.
    slots: Vec<(String, String)>,
    /// The date that is changed: its address and its day.
    stored: Option<(DateId, String)>,
}

/// What the form shows beside what was typed.
struct Around {
    plants: Vec<Processor>,
    stored: Option<(ProcessingDate, Vec<DateSlot>)>,
}

fn around(c: &mut DbConn, id: Option<DateId>) -> Result<Around, Failure> {
    let stored = match id {
        None => None,
        Some(id) => Some((dates::get(c, id)?.0, dates::slots(c, &[id])?)),
    };
    let mut used = plants::list(c, false)?;
    if let Some((date, _)) = &stored
        && used.iter().all(|p| p.id != date.processor_id)
    {
        used.push(plants::get(c, date.processor_id)?);
    }
    Ok(Around { plants: used, stored })
}

impl FormPage {
    fn new(farmer: &Farmer, draft: Draft, around: &Around) -> Self {
        let stored = around.stored.as_ref().map(|(d, _)| (d.id, long(d.kill_on, farmer.now.today)));
        Self {
            frame: farmer.frame(Tab::Dates),
            draft,
            plants: around.plants.iter().map(|p| (p.id.to_string(), p.name.clone())).collect(),
            slots: Species::ALL.iter().map(|s| (slot_field(*s), capital(s.label()))).collect(),
            stored,
        }
    }
}

fn slot_field(species: Species) -> String {
    format!("slots-{species}")
}

fn draft_of(date: &ProcessingDate, slots: &[DateSlot]) -> Draft {
    let day = |d: Option<chrono::NaiveDate>| d.map(|d| d.to_string());
    let mut draft = Draft::empty()
        .with("version", date.version.to_string())
        .with("processor", date.processor_id.to_string())
        .with("kill_on", date.kill_on.to_string())
        .with_some("deliver_on", day(date.deliver_on))
        .with("deliver_time", date.deliver_time.clone())
        .with_some("sheets_due", day(date.sheets_due))
        .with_some("pickup_from", day(date.pickup_from))
        .with_some("pickup_to", day(date.pickup_to))
        .with("notes", date.notes.clone());
    for slot in slots {
        draft = draft.with(slot_field(slot.species), slot.head.to_string());
    }
    draft
}

const LABELS: &[(&str, &str)] = &[
    ("processor", "Processor"),
    ("kill_on", "Day of slaughter"),
    ("slots-beef", "Beef"),
    ("slots-hog", "Hog"),
    ("slots-lamb", "Lamb"),
    ("slots-goat", "Goat"),
    ("deliver_on", "Deliver on"),
    ("deliver_time", "Hour of delivery"),
    ("sheets_due", "Cut-sheet deadline"),
    ("pickup_from", "Pickup from"),
    ("pickup_to", "Pickup to"),
    ("notes", "Notes"),
];

fn read(form: &mut FormIn) -> Result<DateFacts, Draft> {
    let processor = form.id("processor", "Processor");
    let kill_on = form.date("kill_on", "Day of slaughter");
    let mut slots = Vec::new();
    for species in Species::ALL {
        let label = format!("Slots for {}", species.label());
        let head = form.optional_whole_number(&slot_field(*species), &label, 0..=1000);
        slots.push((*species, head.flatten().unwrap_or(0)));
    }
    let parts = (
        processor,
        kill_on,
        form.optional_date("deliver_on", "Deliver on"),
        form.optional_text("deliver_time", "Hour of delivery", 40),
        form.optional_date("sheets_due", "Cut-sheet deadline"),
        form.optional_date("pickup_from", "Pickup from"),
        form.optional_date("pickup_to", "Pickup to"),
        form.optional_lines("notes", "Notes", 2000),
    );
    let (processor, kill_on, deliver_on, deliver_time, sheets_due, pickup_from, pickup_to, notes) =
        form.finish(parts)?;
    Ok(DateFacts {
        processor: ProcessorId(processor),
        kill_on,
        deliver_on,
        deliver_time,
        sheets_due,
        pickup_from,
        pickup_to,
        notes,
        slots,
    })
}

#[derive(Debug, Deserialize)]
pub(super) struct NewQuery {
    processor: Option<i64>,
}

pub(super) async fn new(farmer: Farmer, app: web::Data<App>, query: web::Query<NewQuery>) -> Answer {
    let around = app.read(|c| around(c, None)).await?;
    let only = match around.plants.as_slice() {
        [one] => Some(one.id.0),
        _ => None,
    };
    let draft = Draft::empty().with_some("processor", query.processor.or(only).map(|id| id.to_string()));
    Ok(page(&FormPage::new(&farmer, draft, &around)))
}

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let around = app.read(|c| around(c, None)).await?;
    let facts = match read(&mut form) {
        Ok(facts) => facts,
        Err(draft) => return Ok(refused(&FormPage::new(&farmer, draft, &around))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| Ok(format!("/dates/{}", book_date(tx, doing, &facts)?)));
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The date is booked. Now put head on it.")),
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, &around))),
    }
}

pub(super) async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let around = app.read(move |c| around(c, Some(*id))).await?;
    let draft = around.stored.as_ref().map_or_else(Draft::empty, |(date, slots)| draft_of(date, slots));
    Ok(page(&FormPage::new(&farmer, draft, &around)))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let seen = app.read(move |c| around(c, Some(id))).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (facts, version) = match (read(&mut form), version) {
        (Ok(facts), Some(version)) => (facts, version),
        _ => return Ok(refused(&FormPage::new(&farmer, form.into_draft(), &seen))),
    };
    let back = format!("/dates/{id}");
    let to = back.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_date(tx, doing, id, version, &facts)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The booking is saved.")),
        Err(Failure::Stale) => {
            let now = app.read(move |c| around(c, Some(id))).await?;
            let stored = now.stored.as_ref().map_or_else(Draft::empty, |(date, slots)| draft_of(date, slots));
            let draft = form.into_draft().stale(&stored, LABELS, &back);
            Ok(refused(&FormPage::new(&farmer, draft, &now)))
        }
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, &seen))),
    }
}
