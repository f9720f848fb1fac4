//! How meat is collected: the rules, and the places.

use crate::actions::Failure;
use crate::actions::pickup_place::{PlaceIn, add_place, change_place};
use crate::actions::pickup_rules::{in_force, save_rules};
use crate::book::ids::PickupPlaceId;
use crate::book::pickup_places;
use crate::book::rows::pickups::{PickupPlace, PickupRule};
use crate::trade::pickup::StoragePer;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/pickup", web::get().to(show));
    cfg.route("/settings/pickup", web::post().to(save));
    cfg.route("/settings/pickup/places/new", web::get().to(new));
    cfg.route("/settings/pickup/places/new", web::post().to(add));
    cfg.route("/settings/pickup/places/{id}", web::get().to(open));
    cfg.route("/settings/pickup/places/{id}", web::post().to(change));
}

#[derive(Template)]
#[template(path = "farm/pickup/settings.html")]
struct RulesPage {
    frame: Frame,
    draft: Draft,
    places: Vec<PickupPlace>,
    storage: Choices,
}

#[derive(Template)]
#[template(path = "farm/pickup/place.html")]
struct PlacePage {
    frame: Frame,
    draft: Draft,
    heading: String,
    action: String,
    is_new: bool,
}

const LABELS: &[(&str, &str)] = &[
    ("hold_until_paid", "Hold until paid"),
    ("hours_before", "Hours before a window"),
    ("remind_before", "Remind the day before"),
    ("ask_every", "Days between reminders"),
    ("storage_per", "Storage"),
    ("storage_amount", "Storage amount"),
    ("free_days", "Free days"),
    ("name", "Name"),
    ("address", "Address"),
    ("words", "Words"),
];

fn stored(rule: &PickupRule) -> Draft {
    let amount = rule.storage_amount;
    Draft::empty()
        .with("version", rule.version.to_string())
        .with_some("hold_until_paid", rule.hold_until_paid.then_some("yes"))
        .with("hours_before", rule.hours_before.to_string())
        .with_some("remind_before", rule.remind_before.then_some("yes"))
        .with("ask_every", rule.ask_every.to_string())
        .with("storage_per", rule.storage_per.map_or("none", StoragePer::as_str))
        .with("storage_amount", if amount.is_zero() { String::new() } else { amount.plain() })
        .with("free_days", rule.free_days.to_string())
}

async fn rules_page(farmer: &Farmer, app: &App, draft: Option<Draft>) -> Result<RulesPage, Failure> {
    let (rule, places) = app.read(|c| Ok((in_force(c)?, pickup_places::places(c)?))).await?;
    Ok(RulesPage {
        frame: farmer.frame(Tab::Settings),
        draft: draft.unwrap_or_else(|| stored(&rule)),
        places,
        storage: vec![
            ("none".into(), "Nothing".into()),
            ("day".into(), "For each day begun".into()),
            ("week".into(), "For each week begun".into()),
        ],
    })
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&rules_page(&farmer, &app, None).await?))
}

fn read(form: &mut FormIn) -> Result<(i64, PickupRule), Draft> {
    let (hold_until_paid, remind_before) = (form.tick("hold_until_paid"), form.tick("remind_before"));
    let per = match form.raw("storage_per") {
        "none" => Some(None),
        _ => form.word("storage_per", "Storage").map(Some),
    };
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.whole_number("hours_before", "Hours", 0..=336),
        form.whole_number("ask_every", "Days", 0..=60),
        form.whole_number("free_days", "Free days", 0..=365),
        per,
        form.optional_money("storage_amount", "Storage"),
    );
    let (version, hours_before, ask_every, free_days, storage_per, amount) = form.finish(parts)?;
    let storage_amount = amount.unwrap_or_default();
    let rule = PickupRule {
        hold_until_paid,
        hours_before,
        ask_every,
        remind_before,
        free_days,
        storage_per,
        storage_amount,
        version,
    };
    Ok((version, rule))
}

async fn save(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let (version, rule) = match read(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&rules_page(&farmer, &app, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        save_rules(tx, doing, &rule, version)?;
        Ok("/settings/pickup".to_string())
    });
    let draft = match done.await {
        Ok(url) => return Ok(notice::with(see_other(&url), "Saved. It holds for notices written from now on.")),
        Err(Failure::Stale) => {
            let rule = app.read(in_force).await?;
            form.into_draft().stale(&stored(&rule), LABELS, "/settings/pickup")
        }
        Err(f) => refusal(&form, f)?,
    };
    Ok(refused(&rules_page(&farmer, &app, Some(draft)).await?))
}

fn place_page(farmer: &Farmer, draft: Draft, place: Option<&PickupPlace>) -> PlacePage {
    PlacePage {
        frame: farmer.frame(Tab::Settings),
        draft,
        heading: place.map_or("A place where meat is collected".into(), |p| p.name.clone()),
        action: place.map_or("/settings/pickup/places/new".into(), |p| format!("/settings/pickup/places/{}", p.id)),
        is_new: place.is_none(),
    }
}

fn stored_place(p: &PickupPlace) -> Draft {
    Draft::empty()
        .with("version", p.version.to_string())
        .with("name", p.name.clone())
        .with("address", p.address.clone())
        .with("words", p.words.clone())
        .with_some("unused", p.retired_at.map(|_| "yes"))
}

async fn new(farmer: Farmer) -> Answer {
    Ok(page(&place_page(&farmer, Draft::empty().with("version", "0"), None)))
}

async fn open(farmer: Farmer, app: web::Data<App>, id: web::Path<PickupPlaceId>) -> Answer {
    let id = *id;
    let place = app.read(move |c| Ok(pickup_places::place(c, id)?)).await?;
    Ok(page(&place_page(&farmer, stored_place(&place), Some(&place))))
}

fn read_place(form: &mut FormIn) -> Result<(i64, PlaceIn), Draft> {
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.text("name", "Name", 120),
        form.optional_lines("address", "Address", 400),
        form.optional_lines("words", "Words", 600),
    );
    let (version, name, address, words) = form.finish(parts)?;
    Ok((version, PlaceIn { name, address, words }))
}

async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let input = match read_place(&mut form) {
        Ok((_, input)) => input,
        Err(draft) => return Ok(refused(&place_page(&farmer, draft, None))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        add_place(tx, doing, &input)?;
        Ok("/settings/pickup".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The place is added. Windows of a date can use it now.")),
        Err(f) => Ok(refused(&place_page(&farmer, refusal(&form, f)?, None))),
    }
}

async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<PickupPlaceId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let used = !form.tick("unused");
    let place = app.read(move |c| Ok(pickup_places::place(c, id)?)).await?;
    let (version, input) = match read_place(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&place_page(&farmer, draft, Some(&place)))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_place(tx, doing, id, version, &input, used)?;
        Ok("/settings/pickup".to_string())
    });
    let draft = match done.await {
        Ok(url) => return Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => form.into_draft().stale(&stored_place(&place), LABELS, "/settings/pickup"),
        Err(f) => refusal(&form, f)?,
    };
    Ok(refused(&place_page(&farmer, draft, Some(&place))))
}
