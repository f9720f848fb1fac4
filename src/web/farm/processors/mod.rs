//! Processors: the list, one plant with its schedule of charges, and its forms.

use crate::actions::Failure;
use crate::actions::change_processor::retire_processor;
use crate::book::ids::ProcessorId;
use crate::book::rows::plants::{Processor, ProcessorCharge};
use crate::book::{dates, plant_offers, plants};
use crate::trade::dates::long;
use crate::trade::money::Money;
use crate::trade::vocabulary::{BilledBy, Inspection, Per};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

mod charges;
mod form;
mod offer;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/processors", web::get().to(list));
    cfg.route("/processors/new", web::get().to(form::new));
    cfg.route("/processors/new", web::post().to(form::add));
    cfg.route("/processors/{id}", web::get().to(show));
    cfg.route("/processors/{id}/change", web::get().to(form::change));
    cfg.route("/processors/{id}/change", web::post().to(form::save));
    cfg.route("/processors/{id}/offer/{species}", web::get().to(offer::show));
    cfg.route("/processors/{id}/offer/{species}", web::post().to(offer::save));
    cfg.route("/processors/{id}/retire", web::post().to(retire));
    cfg.route("/processors/{id}/charges/new", web::get().to(charges::new));
    cfg.route("/processors/{id}/charges/new", web::post().to(charges::add));
    cfg.route("/processors/{id}/charges/{charge}", web::get().to(charges::change));
    cfg.route("/processors/{id}/charges/{charge}", web::post().to(charges::save));
    cfg.route("/processors/{id}/charges/{charge}/retire", web::post().to(charges::retire));
}

/// What an inspection means for the farm, with its sources, and whom to ask.
pub const fn caution(inspection: Inspection) -> &'static str {
    match inspection {
        Inspection::Custom => {
            "A custom-exempt plant slaughters and cuts for the owners of an animal only: them, their households, guests and employees (9 CFR 303.1(a)(2)). Sell every share before slaughter; the packages are marked “Not for Sale”. Ask your state’s meat inspection program when unsure."
        }
        Inspection::State => {
            "Meat from a state-inspected plant may be sold within the state; across its border only in some programs. Ask your state’s meat inspection program when unsure."
        }
        Inspection::Federal => {
            "Meat inspected by the federal service may be sold anywhere in the United States. Labels and claims on packages have rules of their own; ask your state’s meat inspection program when unsure."
        }
    }
}

struct Line {
    plant: Processor,
    second: String,
}

#[derive(Template)]
#[template(path = "farm/processors/list.html")]
struct ListPage {
    frame: Frame,
    lines: Vec<Line>,
    retired: Vec<Processor>,
}

async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
    let plants = app.read(|c| Ok(plants::list(c, true)?)).await?;
    let (used, retired): (Vec<_>, Vec<_>) = plants.into_iter().partition(|p| p.retired_at.is_none());
    let lines = used
        .into_iter()
        .map(|plant| {
            let first_line = plant.address.lines().last().unwrap_or("").to_string();
            let second = [plant.inspection.label().to_string(), first_line, plant.phone.clone()];
            let second: Vec<_> = second.into_iter().filter(|s| !s.is_empty()).collect();
            Line { second: second.join(" · "), plant }
        })
        .collect();
    Ok(page(&ListPage { frame: farmer.frame(Tab::Settings), lines, retired }))
}

struct ChargeLine {
    charge: ProcessorCharge,
    what_for: String,
    rate: String,
    minimum: String,
    who: &'static str,
}

fn charge_line(charge: ProcessorCharge, unit: &str) -> ChargeLine {
    let species = charge.species.map_or(String::new(), |s| s.label().to_string());
    let size = charge.size.map_or(String::new(), |s| s.label().to_string());
    let service = charge.service.map_or(String::new(), |s| format!(", {}", s.label()));
    let what_for = match (species.is_empty(), size.is_empty()) {
        (true, true) => "All".to_string(),
        (false, true) => capital(&species),
        (true, false) => capital(&size),
        (false, false) => format!("{} {species}", capital(&size)),
    };
    let per = match charge.per {
        Per::Head => "per head".to_string(),
        Per::Share => "per share".to_string(),
        Per::UnitHanging => format!("per {unit} hanging"),
        Per::UnitProduct => format!("per {unit} of product"),
        Per::Pack => "per pack".to_string(),
    };
    let quantity = charge.minimum_quantity.map(|w| format!("at least {} {unit} a head", w.short()));
    let amount = charge.minimum_amount.filter(|m| !m.is_zero()).map(|m: Money| format!("at least {}", m.dollars()));
    let tax = (!charge.tax_percent.is_zero()).then(|| format!("plus {} % tax", charge.tax_percent.shown()));
    ChargeLine {
        rate: format!("{} {per}{service}", charge.rate.dollars()),
        minimum: [quantity, amount, tax].into_iter().flatten().collect::<Vec<_>>().join(", "),
        who: match charge.billed_by {
            BilledBy::Farm => "Billed by the farm",
            BilledBy::Processor => "Paid to the processor",
        },
        what_for,
        charge,
    }
}

#[derive(Template)]
#[template(path = "farm/processors/show.html")]
struct ShowPage {
    frame: Frame,
    draft: Draft,
    plant: Processor,
    charges: Vec<ChargeLine>,
    dates: Vec<Link>,
    offers: Vec<(Link, Standing)>,
    caution: &'static str,
}

async fn shown(farmer: &Farmer, app: &App, id: ProcessorId, draft: Draft) -> Result<ShowPage, Failure> {
    let today = farmer.now.today;
    let (plant, charges, booked, said) = app
        .read(move |c| {
            let (plant, charges) = (plants::get(c, id)?, plants::charges(c, id)?);
            Ok((plant, charges, dates::of_processor(c, id, today)?, plant_offers::of(c, &[id])?))
        })
        .await?;
    Ok(ShowPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        caution: caution(plant.inspection),
        offers: offer::links(id, &said)?,
        charges: charges.into_iter().map(|charge| charge_line(charge, farmer.unit())).collect(),
        dates: booked.into_iter().map(|d| Link::new(format!("/dates/{}", d.id), long(d.kill_on, today))).collect(),
        plant,
    })
}

async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>) -> Answer {
    Ok(page(&shown(&farmer, &app, *id, Draft::empty()).await?))
}

async fn retire(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let (id, version, again) = (*id, form.whole_number("version", "Version", 0..=i64::MAX), form.tick("again"));
    let version = match form.finish((version,)) {
        Ok((version,)) => version,
        Err(draft) => return Ok(refused(&shown(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        retire_processor(tx, doing, id, version, !again)?;
        Ok(if again { format!("/processors/{id}") } else { "/processors".to_string() })
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), if again { "Used again." } else { "Taken off the list." })),
        Err(f) => Ok(refused(&shown(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
