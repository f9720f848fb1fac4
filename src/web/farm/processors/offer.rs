//! What a plant does with one species: everything is ticked until somebody says otherwise.

use crate::actions::Failure;
use crate::actions::plant_offer::{look, save_offer, unfit_ahead, whose};
use crate::book::ids::ProcessorId;
use crate::book::plants;
use crate::book::rows::plants::{Processor, ProcessorOffer};
use crate::trade::cuts::catalogue::Catalogue;
use crate::trade::cuts::common::{Common, Parameter};
use crate::trade::cuts::offer::{
    Batch, MOST_AGEING, MOST_SEASONINGS, Offer, SUGGESTED_SEASONINGS, Service, is_ticked, shown, values,
};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::{BadCatalogue, catalogue, common};
use crate::trade::share::Species;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::{BTreeSet, HashMap};

/// Boxes under one legend.
struct Ticks {
    field: String,
    legend: String,
    choices: Choices,
}

/// A primal with its blocks.
struct Primal {
    id: String,
    name: String,
    blocks: Vec<Ticks>,
}

/// A smallest batch.
struct Least {
    field: String,
    label: String,
    hint: String,
}

#[derive(Template)]
#[template(path = "farm/processors/offer.html")]
struct OfferPage {
    frame: Frame,
    draft: Draft,
    plant: Processor,
    species: Species,
    lead: String,
    services: Choices,
    primals: Vec<Primal>,
    parameters: Vec<Ticks>,
    seasonings: Choices,
    parts: Choices,
    least: Vec<Least>,
    seasonings_hint: String,
    unit: &'static str,
}

fn faulty(e: &BadCatalogue) -> Failure {
    Failure::Unexpected(e.to_string())
}

fn books(species: Species) -> Result<(&'static Catalogue, &'static Common), Failure> {
    Ok((catalogue(species).map_err(faulty)?, common().map_err(faulty)?))
}

/// The species with where each stands, for the plant's page.
pub(super) fn links(
    plant: ProcessorId,
    said: &HashMap<(ProcessorId, Species), ProcessorOffer>,
) -> Result<Vec<(Link, Standing)>, Failure> {
    let one = |species: &Species| {
        let offer = match said.get(&(plant, *species)) {
            None => None,
            Some(row) => Some(Offer::read(&row.document).map_err(Failure::Unexpected)?),
        };
        let standing = match offer {
            None => Standing::wait("Not asked yet"),
            Some(offer) if offer.is_everything() => Standing::done("Everything"),
            Some(_) => Standing::part("Some left out"),
        };
        let words = format!("Cuts of {}", species.label());
        Ok((Link::new(format!("/processors/{plant}/offer/{species}"), words), standing))
    };
    Species::ALL.iter().map(one).collect()
}

fn ticks_of(common: &Common, parameter: &Parameter) -> Ticks {
    let choices = values(parameter).into_iter().map(|v| (v.clone(), upper(&shown(common, parameter, &v)))).collect();
    Ticks { field: format!("param-{}", parameter.id), legend: upper(&parameter.name), choices }
}

fn offer_page(farmer: &Farmer, plant: Processor, species: Species, draft: Draft) -> Result<OfferPage, Failure> {
    let (catalogue, common) = books(species)?;
    let mut primals: Vec<Primal> = Vec::new();
    for block in &catalogue.blocks {
        let ticks = Ticks {
            field: format!("block-{}", block.id),
            legend: upper(&block.name),
            choices: block.choices.iter().map(|c| (c.id.clone(), upper(&c.name))).collect(),
        };
        match primals.iter_mut().find(|p| p.id == block.primal) {
            Some(primal) => primal.blocks.push(ticks),
            None => {
                let name = upper(&block.primal.replace('_', " "));
                primals.push(Primal { id: block.primal.clone(), name, blocks: vec![ticks] });
            }
        }
    }
    let least = Batch::ALL.iter().map(|b| Least {
        field: format!("least-{b}"),
        label: format!("Smallest batch of {}", b.label()),
        hint: match b.suggested_lb() {
            Some(lb) => {
                format!("Of one seasoning. {lb} lb is a planning figure of ours, without a source; ask the plant.")
            }
            None => "All that is cured for one share. Ask the plant.".into(),
        },
    });
    Ok(OfferPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        lead: format!(
            "Tick what {} does with {}. Cut sheets for its dates offer only that, and every sheet that is in is held against it.",
            plant.name,
            species.label()
        ),
        plant,
        species,
        services: Service::TICKED.iter().map(|s| (s.as_str().to_string(), capital(s.label()))).collect(),
        primals,
        parameters: common.parameters(species).filter(|p| is_ticked(p)).map(|p| ticks_of(common, p)).collect(),
        seasonings: common.seasonings.iter().map(|s| (s.id.clone(), upper(&s.name))).collect(),
        parts: catalogue.parts.iter().map(|p| (p.id.clone(), upper(&p.name))).collect(),
        least: least.collect(),
        seasonings_hint: format!(
            "Different seasonings for one share; blank for no limit. Often {SUGGESTED_SEASONINGS} for a half (from memory, \
             without a source)."
        ),
        unit: farmer.unit(),
    })
}

/// Everything that is done is ticked.
fn draft_of(offer: &Offer, version: i64, species: Species) -> Result<Draft, Failure> {
    let (catalogue, common) = books(species)?;
    let mut draft = Draft::empty().with("version", version.to_string());
    for service in Service::TICKED.iter().filter(|s| !offer.without_services.contains(*s)) {
        draft = draft.with("services", service.as_str());
    }
    for block in &catalogue.blocks {
        let without = offer.without_choices.get(&block.id);
        for choice in block.choices.iter().filter(|c| without.is_none_or(|w| !w.contains(&c.id))) {
            draft = draft.with(format!("block-{}", block.id), choice.id.clone());
        }
    }
    for parameter in common.parameters(species).filter(|p| is_ticked(p)) {
        for value in values(parameter).into_iter().filter(|v| offer.has_value(parameter, v)) {
            draft = draft.with(format!("param-{}", parameter.id), value);
        }
    }
    for seasoning in common.seasonings.iter().filter(|s| !offer.without_seasonings.contains(&s.id)) {
        draft = draft.with("seasonings", seasoning.id.clone());
    }
    for part in catalogue.parts.iter().filter(|p| offer.has_part(&p.id)) {
        draft = draft.with("parts", part.id.clone());
    }
    for (batch, weight) in &offer.least {
        draft = draft.with(format!("least-{batch}"), weight.short());
    }
    Ok(draft
        .with_some("wishes", (!offer.no_wishes).then_some("yes"))
        .with_some("most_seasonings", offer.most_seasonings.map(|n| n.to_string()))
        .with_some("longest_ageing", offer.longest_ageing.map(|n| n.to_string())))
}

/// What of a list was not ticked.
fn left_out<'a>(form: &FormIn, field: &str, all: impl Iterator<Item = &'a str>) -> BTreeSet<String> {
    let ticked = form.all(field);
    all.filter(|id| !ticked.iter().any(|t| t == id)).map(str::to_string).collect()
}

fn read(form: &mut FormIn, species: Species) -> Result<Result<(Offer, i64), Draft>, Failure> {
    let (catalogue, common) = books(species)?;
    let mut offer = Offer { no_wishes: !form.tick("wishes"), ..Offer::default() };
    let services = left_out(form, "services", Service::TICKED.iter().map(|s| s.as_str()));
    offer.without_services = services.iter().filter_map(|s| s.parse().ok()).collect();
    for block in &catalogue.blocks {
        let without = left_out(form, &format!("block-{}", block.id), block.choices.iter().map(|c| c.id.as_str()));
        if !without.is_empty() {
            offer.without_choices.insert(block.id.clone(), without);
        }
    }
    for parameter in common.parameters(species).filter(|p| is_ticked(p)) {
        let all = values(parameter);
        let without = left_out(form, &format!("param-{}", parameter.id), all.iter().map(String::as_str));
        if !without.is_empty() {
            offer.without_values.insert(parameter.id.clone(), without);
        }
    }
    offer.without_seasonings = left_out(form, "seasonings", common.seasonings.iter().map(|s| s.id.as_str()));
    offer.without_parts = left_out(form, "parts", catalogue.parts.iter().map(|p| p.id.as_str()));
    for batch in Batch::ALL {
        let label = format!("Smallest batch of {}", batch.label());
        if let Some(Some(weight)) = form.optional_weight(&format!("least-{batch}"), &label) {
            offer.least.insert(*batch, weight);
        }
    }
    let parts = (
        form.optional_whole_number("most_seasonings", "Seasonings", 1..=i64::from(MOST_SEASONINGS)),
        form.optional_whole_number("longest_ageing", "Longest ageing", 0..=i64::from(MOST_AGEING)),
        form.whole_number("version", "Version", 0..=i64::MAX),
    );
    Ok(form.finish(parts).map(|(seasonings, ageing, version)| {
        offer.most_seasonings = seasonings.and_then(|n| u32::try_from(n).ok());
        offer.longest_ageing = ageing.and_then(|n| u32::try_from(n).ok());
        (offer, version)
    }))
}

/// The fields with their labels, to show what differs.
fn labels(species: Species) -> Result<Vec<(String, String)>, Failure> {
    let (catalogue, common) = books(species)?;
    let mut all: Vec<(String, String)> = vec![("services".into(), "Work".into())];
    all.extend(catalogue.blocks.iter().map(|b| (format!("block-{}", b.id), upper(&b.name))));
    all.extend(common.parameters(species).map(|p| (format!("param-{}", p.id), upper(&p.name))));
    let rest = [
        ("seasonings", "Seasonings"),
        ("parts", "Parts"),
        ("wishes", "Wishes in words"),
        ("most_seasonings", "Number of seasonings"),
        ("longest_ageing", "Longest ageing"),
    ];
    all.extend(rest.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())));
    all.extend(Batch::ALL.iter().map(|b| (format!("least-{b}"), format!("Smallest batch of {}", b.label()))));
    Ok(all)
}

type Path = web::Path<(ProcessorId, Species)>;

async fn stored(app: &App, id: ProcessorId, species: Species) -> Result<(Processor, Offer, i64), PageError> {
    let seen = app.read(move |c| {
        let plant = plants::get(c, id)?;
        let (offer, version) = look(c, id, species)?;
        Ok((plant, offer, version))
    });
    Ok(seen.await?)
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, path: Path) -> Answer {
    let (id, species) = *path;
    let (plant, offer, version) = stored(&app, id, species).await?;
    Ok(page(&offer_page(&farmer, plant, species, draft_of(&offer, version, species)?)?))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, path: Path, sent: Sent) -> Answer {
    let (id, species) = *path;
    let (mut form, key) = sent.with_key();
    let (plant, ..) = stored(&app, id, species).await?;
    let (offer, version) = match read(&mut form, species)? {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&offer_page(&farmer, plant, species, draft)?)),
    };
    let to = format!("/processors/{id}");
    let done = app.act(&farmer, &key, move |tx, doing| {
        save_offer(tx, doing, id, species, version, &offer)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => {
            let (farm, today) = (farmer.farm.clone(), farmer.now.today);
            let unfit = app.read(move |c| unfit_ahead(c, &farm, today, Some(id))).await?;
            let words = if unfit.is_empty() {
                "Saved. Every cut sheet of its coming dates fits.".to_string()
            } else {
                let sheets = capital(&counted(unfit.len(), "cut sheet does", "cut sheets do"));
                format!("Saved. {sheets} not fit: {}. Look at the sheets of the date, or at Today.", whose(&unfit))
            };
            Ok(notice::with(see_other(&url), &words))
        }
        Err(Failure::Stale) => {
            let (plant, now, version) = stored(&app, id, species).await?;
            let labels = labels(species)?;
            let labels: Vec<(&str, &str)> = labels.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
            let theirs = draft_of(&now, version, species)?;
            let draft = form.into_draft().stale(&theirs, &labels, &format!("/processors/{id}/offer/{species}"));
            Ok(refused(&offer_page(&farmer, plant, species, draft)?))
        }
        Err(f) => Ok(refused(&offer_page(&farmer, plant, species, refusal(&form, f)?)?)),
    }
}
