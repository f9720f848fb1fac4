//! The form for one line of a plant's schedule of charges.

use crate::actions::Failure;
use crate::actions::change_processor::{ChargeFacts, add_charge, change_charge, retire_charge};
use crate::book::ids::{ChargeId, ProcessorId};
use crate::book::plants;
use crate::book::rows::plants::{Processor, ProcessorCharge};
use crate::trade::cuts::offer::Service;
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{BilledBy, Per};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// Names plants commonly use; any other can be written.
const COMMON: [&str; 7] = ["Kill fee", "Cut and wrap", "Cure and smoke", "Sausage", "Patties", "Split fee", "Disposal"];

#[derive(Template)]
#[template(path = "farm/processors/charge.html")]
struct ChargePage {
    frame: Frame,
    draft: Draft,
    plant: Processor,
    /// The charge, when it is changed.
    charge: Option<ChargeId>,
    unit: &'static str,
    names: [&'static str; 7],
    species: Choices,
    sizes: Choices,
    pers: Choices,
    bills: Choices,
    services: Choices,
}

impl ChargePage {
    fn new(farmer: &Farmer, draft: Draft, plant: Processor, charge: Option<ChargeId>) -> Self {
        let unit = farmer.unit();
        let per = |p: &Per| match p {
            Per::Head => "Per head".to_string(),
            Per::Share => "Per share".to_string(),
            Per::UnitHanging => format!("Per {unit} of hanging weight"),
            Per::UnitProduct => format!("Per {unit} of product"),
            Per::Pack => "Per pack".to_string(),
        };
        Self {
            frame: farmer.frame(Tab::Settings),
            draft,
            plant,
            charge,
            unit,
            names: COMMON,
            species: choices(Species::ALL, Species::as_str, Species::label),
            sizes: choices(Size::ALL, Size::as_str, Size::label),
            pers: Per::ALL.iter().map(|p| (p.as_str().to_string(), per(p))).collect(),
            bills: choices(BilledBy::ALL, BilledBy::as_str, BilledBy::label),
            services: Service::ALL.iter().map(|s| (s.as_str().to_string(), capital(s.label()))).collect(),
        }
    }
    fn action(&self) -> String {
        match self.charge {
            None => format!("/processors/{}/charges/new", self.plant.id),
            Some(charge) => format!("/processors/{}/charges/{charge}", self.plant.id),
        }
    }
}

fn draft_of(charge: &ProcessorCharge, plant: &Processor) -> Draft {
    Draft::empty()
        .with("version", plant.version.to_string())
        .with("name", charge.name.clone())
        .with("species", charge.species.map_or("", Species::as_str))
        .with("size", charge.size.map_or("", Size::as_str))
        .with("per", charge.per.as_str())
        .with("rate", charge.rate.shown())
        .with_some("minimum_quantity", charge.minimum_quantity.map(|w| w.short()))
        .with_some("minimum_amount", charge.minimum_amount.map(|m| m.shown()))
        .with("billed_by", charge.billed_by.as_str())
        .with("service", charge.service.map_or("", Service::as_str))
        .with("tax_percent", if charge.tax_percent.is_zero() { String::new() } else { charge.tax_percent.shown() })
}

const LABELS: &[(&str, &str)] = &[
    ("name", "Charge"),
    ("species", "Species"),
    ("size", "Share"),
    ("per", "Reckoned"),
    ("service", "For what"),
    ("rate", "Rate"),
    ("minimum_quantity", "Minimum weight"),
    ("minimum_amount", "Minimum amount"),
    ("billed_by", "Collected"),
    ("tax_percent", "Tax"),
];

fn read(form: &mut FormIn) -> Result<ChargeFacts, Draft> {
    let parts = (
        form.text("name", "Charge", 80),
        form.optional_word("species", "Species"),
        form.optional_word("size", "Share"),
        form.word("per", "Reckoned"),
        form.optional_word("service", "For what"),
        form.rate("rate", "Rate"),
        form.optional_weight("minimum_quantity", "Minimum weight"),
        form.optional_money("minimum_amount", "Minimum amount"),
        form.word("billed_by", "Collected"),
        form.percent("tax_percent", "Tax"),
    );
    let (name, species, size, per, service, rate, minimum_quantity, minimum_amount, billed_by, tax_percent) =
        form.finish(parts)?;
    Ok(ChargeFacts {
        name,
        species,
        size,
        per,
        rate,
        minimum_quantity,
        minimum_amount,
        billed_by,
        tax_percent,
        service,
    })
}

pub(super) async fn new(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>) -> Answer {
    let plant = app.read(move |c| Ok(plants::get(c, *id)?)).await?;
    let draft = Draft::empty().with("per", "head").with("billed_by", "processor");
    Ok(page(&ChargePage::new(&farmer, draft, plant, None)))
}

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let plant = app.read(move |c| Ok(plants::get(c, id)?)).await?;
    let facts = match read(&mut form) {
        Ok(facts) => facts,
        Err(draft) => return Ok(refused(&ChargePage::new(&farmer, draft, plant, None))),
    };
    let (name, more) = (facts.name.clone(), form.raw("then") == "more");
    let done = app.act(&farmer, &key, move |tx, doing| {
        add_charge(tx, doing, id, &facts)?;
        Ok(if more { format!("/processors/{id}/charges/new") } else { format!("/processors/{id}") })
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("“{name}” is saved."))),
        Err(f) => Ok(refused(&ChargePage::new(&farmer, refusal(&form, f)?, plant, None))),
    }
}

async fn stored(app: &App, plant: ProcessorId, id: ChargeId) -> Result<(Processor, ProcessorCharge), Failure> {
    app.read(move |c| {
        let charge = plants::charge(c, id)?;
        if charge.processor_id != plant || charge.retired_at.is_some() {
            return Err(Failure::NotFound);
        }
        Ok((plants::get(c, plant)?, charge))
    })
    .await
}

pub(super) async fn change(farmer: Farmer, app: web::Data<App>, ids: web::Path<(ProcessorId, ChargeId)>) -> Answer {
    let (plant, charge) = stored(&app, ids.0, ids.1).await?;
    Ok(page(&ChargePage::new(&farmer, draft_of(&charge, &plant), plant, Some(charge.id))))
}

pub(super) async fn save(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(ProcessorId, ChargeId)>,
    sent: Sent,
) -> Answer {
    let (owner, id) = (ids.0, ids.1);
    let (mut form, key) = sent.with_key();
    let (plant, _) = stored(&app, owner, id).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (facts, version) = match (read(&mut form), version) {
        (Ok(facts), Some(version)) => (facts, version),
        _ => return Ok(refused(&ChargePage::new(&farmer, form.into_draft(), plant, Some(id)))),
    };
    let back = format!("/processors/{owner}");
    let to = back.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_charge(tx, doing, id, version, &facts)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved. Invoices already issued stay as they are.")),
        Err(Failure::Stale) => {
            let (plant, charge) = stored(&app, owner, id).await?;
            let draft = form.into_draft().stale(&draft_of(&charge, &plant), LABELS, &back);
            Ok(refused(&ChargePage::new(&farmer, draft, plant, Some(id))))
        }
        Err(f) => Ok(refused(&ChargePage::new(&farmer, refusal(&form, f)?, plant, Some(id)))),
    }
}

pub(super) async fn retire(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(ProcessorId, ChargeId)>,
    sent: Sent,
) -> Answer {
    let (owner, id) = (ids.0, ids.1);
    let (_, key) = sent.with_key();
    stored(&app, owner, id).await?;
    let url =
        app.act(&farmer, &key, move |tx, doing| Ok(format!("/processors/{}", retire_charge(tx, doing, id)?))).await?;
    Ok(notice::with(see_other(&url), "Taken off the schedule. Invoices already issued stay as they are."))
}
