//! The cut sheet of an order: entered for the customer, by phone or from paper, with what comes home of it beside.

use super::there::{BlockField, block_field, kept_or, limited, name_of, named, typed, unfit};
use super::words;
use crate::actions::Failure;
use crate::actions::cut_sheet::{Basis, SheetIn, basis, forecast, look_over, save_sheet};
use crate::actions::own_yields::OwnYields;
use crate::actions::plant_offer::{There, of_order};
use crate::actions::share_side::neighbor_panel;
use crate::actions::sheet_cost::{Prices, prices};
use crate::book::ids::ReservationId;
use crate::book::rows::sheets::{CutSheet, SheetDraft};
use crate::book::sides::SharedSide;
use crate::book::{sheet_drafts, sheets, sides};
use crate::trade::cuts::common;
use crate::trade::cuts::said::range;
use crate::trade::cuts::settings::upper;
use crate::trade::share::Species;
use crate::trade::sheet_json;
use crate::trade::vocabulary::SheetOrigin;
use crate::web::app::App;
use crate::web::costs::{Costs, costs};
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use crate::web::sheet_form::show::{HomeLine, ParamField};
use crate::web::sheet_form::{SAUSAGES, read, show};
use actix_web::web;
use askama::Template;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "farm/orders/sheet.html")]
struct SheetPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    heading: String,
    lead: String,
    standing: String,
    /// The side it shares with another quarter.
    side: Option<Link>,
    /// What of the stored sheet the processor does not do.
    unfit: Vec<String>,
    /// "side", "forequarter": what the blocks are parts of.
    cut_from: &'static str,
    blocks: Vec<BlockField>,
    parameters: Vec<ParamField>,
    takes_wishes: bool,
    parts: Choices,
    sausages: Vec<usize>,
    seasonings: Choices,
    forms: Choices,
    asks_skin: bool,
    asks_head: bool,
    home: Vec<HomeLine>,
    sums: Vec<(String, String)>,
    costs: Costs,
    cautions: Vec<String>,
    unit: &'static str,
    is_cancelled: bool,
}

fn faulty(e: &crate::trade::cuts::BadCatalogue) -> Failure {
    Failure::Unexpected(e.to_string())
}

struct Seen {
    basis: Basis,
    there: There,
    prices: Prices,
    own: Arc<OwnYields>,
    stored: Option<CutSheet>,
    begun: Option<SheetDraft>,
    side: Option<SharedSide>,
    /// Parts of the animal that other owners ask for too: who gets them, a sentence each.
    parts: Vec<String>,
}

async fn look(farmer: &Farmer, app: &App, id: ReservationId) -> Result<Seen, PageError> {
    let (farm, today, yields) = (farmer.farm.clone(), farmer.now.today, app.yields.clone());
    Ok(app
        .read(move |c| {
            let basis = basis(c, &farm, today, id)?;
            let there = of_order(c, &basis)?;
            Ok(Seen {
                prices: prices(c, &basis, &there)?,
                own: yields.read(c, &farm, today)?,
                there,
                basis,
                stored: sheets::of(c, &[id])?.remove(&id),
                begun: sheet_drafts::of(c, &[id])?.remove(&id),
                side: sides::of_order(c, id)?,
                parts: neighbor_panel(c, id)?.parts,
            })
        })
        .await?)
}

/// What stands in the form for a stored sheet; the empty form is the standard cut.
fn stored_draft(stored: Option<&CutSheet>) -> Result<(Draft, SheetIn), Failure> {
    let input = match stored {
        Some(s) => {
            SheetIn { kept: sheet_json::read(&s.sheet).map_err(Failure::Unexpected)?, special: s.special.clone() }
        }
        None => SheetIn::default(),
    };
    let version = stored.map_or(0, |s| s.version);
    Ok((show::fields(&input).with("version", version.to_string()), input))
}

fn sheet_page(
    farmer: &Farmer,
    id: ReservationId,
    seen: &Seen,
    draft: Draft,
    input: &SheetIn,
) -> Result<SheetPage, Failure> {
    let unit = farmer.unit();
    let (catalogue, common) = (seen.basis.hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
    let kept = seen.there.filled(&seen.basis, &input.kept);
    let home = forecast(&seen.basis, &kept).ok();
    let plant = seen.there.plant.as_ref().map(|p| p.name.as_str());
    let open = seen.there.open(&seen.basis)?;
    let (r, customer, o) = &seen.basis.order;
    let share = words::share(r, o).to_lowercase();
    let mut lines: Vec<HomeLine> = Vec::new();
    let mut sums = Vec::new();
    if let Some(h) = &home {
        lines = show::home_lines(h, seen.basis.hanging.unit);
        sums.push(("Comes home".into(), range(h.packaged.low, h.packaged.high, seen.basis.hanging.unit)));
        let plant = seen.there.plant.as_ref().map(|p| p.id);
        sums.push(show::own_yields(seen.own.say(&seen.basis.hanging, h, plant), seen.basis.hanging.unit, "your"));
        sums.push(("Of hanging weight".into(), format!("about {} %", h.percent_of_hanging.round_dp(0))));
        sums.push(show::freezer(h));
    }
    let weight = seen.basis.hanging.weight.short();
    let basis_words = if seen.basis.is_weighed {
        format!("{weight} {unit} hung for this {share}.")
    } else {
        format!("{weight} {unit} expected for this {share}: {}.", seen.basis.rests_on)
    };
    let mut standing = match &seen.stored {
        None => "No cut sheet yet. What is left as it stands is the standard cut.".to_string(),
        Some(s) => format!("Revision {}, {}.", s.revision, s.origin.label()),
    };
    if let Some(draft) = &seen.begun {
        standing = format!("{standing} {}", words::begun(draft, farmer.now));
    }
    let species = seen.basis.hanging.species;
    Ok(SheetPage {
        frame: farmer.frame(Tab::Orders),
        id,
        number: r.number.clone(),
        heading: format!("Cut sheet of {}", customer.name),
        lead: basis_words,
        standing,
        side: seen
            .side
            .as_ref()
            .map(|s| Link::new(s.url(), format!("What the two quarters of the {} agree on", s.name()))),
        unfit: unfit(&seen.basis, &seen.there, seen.stored.as_ref())?,
        cut_from: if seen.basis.hanging.is_own_quarter() { seen.basis.hanging.share_word() } else { "side" },
        blocks: open
            .blocks
            .iter()
            .map(|b| block_field(&seen.basis, home.as_ref(), b, draft.val(format!("block-{}", b.block.id))))
            .collect(),
        parameters: open
            .parameters
            .iter()
            .filter_map(|p| {
                Some(limited(show::parameter(p.parameter)?, p, draft.val(format!("param-{}", p.parameter.id))))
            })
            .collect(),
        takes_wishes: open.takes_wishes || !draft.val("special").is_empty(),
        parts: kept_or(open.parts.iter().map(|p| (p.id.clone(), upper(&p.name))), draft.all("parts"), |id| {
            catalogue.part(id).map(|p| p.name.clone())
        }),
        sausages: (1..=SAUSAGES).collect(),
        seasonings: kept_or(named(&open.seasonings), typed(&draft, "seasoning"), |id| name_of(&common.seasonings, id)),
        forms: kept_or(named(&open.forms), typed(&draft, "form"), |id| name_of(&common.forms, id)),
        asks_skin: species == Species::Hog,
        asks_head: species != Species::Beef,
        home: lines,
        sums,
        costs: home
            .as_ref()
            .filter(|_| farmer.sees_money())
            .map_or_else(Costs::default, |home| costs(common, &seen.basis, &seen.prices, plant, &kept, home)),
        cautions: show::cautions(home.as_ref())
            .into_iter()
            .map(|c| format!("{}.", c.trim_end_matches('.')))
            .chain(seen.parts.iter().cloned())
            .collect(),
        unit,
        is_cancelled: r.cancelled_at.is_some(),
        draft,
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = ReservationId(*id);
    let seen = look(&farmer, &app, id).await?;
    let (draft, input) = stored_draft(seen.stored.as_ref())?;
    Ok(page(&sheet_page(&farmer, id, &seen, draft, &input)?))
}

/// Saves it; with `look` it only shows what comes home of what is typed.
///
/// # Errors
/// 404 when there is no such order.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let seen = look(&farmer, &app, id).await?;
    let (catalogue, common) = (seen.basis.hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
    let input = read::sheet(&mut form, catalogue, common);
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    if form.is_refused() {
        return Ok(refused(&sheet_page(&farmer, id, &seen, form.into_draft(), &input)?));
    }
    if form.tick("look") {
        return Ok(match look_over(&seen.basis, &seen.there, &input) {
            Ok(_) => page(&sheet_page(&farmer, id, &seen, form.into_draft(), &input)?),
            Err(f) => refused(&sheet_page(&farmer, id, &seen, refusal(&form, f)?, &input)?),
        });
    }
    let (typed, version) = (input.clone(), version.unwrap_or(0));
    let done = app.act(&farmer, &key, move |tx, doing| {
        save_sheet(tx, doing, id, version, &typed, SheetOrigin::Entered)?;
        Ok(format!("/orders/{id}/cut-sheet"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The cut sheet is saved.")),
        Err(Failure::Stale) => {
            let now = look(&farmer, &app, id).await?;
            let (stored, _) = stored_draft(now.stored.as_ref())?;
            let labels: Vec<(String, String)> =
                catalogue.blocks.iter().map(|b| (format!("block-{}", b.id), upper(&b.name))).collect();
            let labels: Vec<(&str, &str)> = labels.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
            let draft = form.into_draft().stale(&stored, &labels, &format!("/orders/{id}/cut-sheet"));
            Ok(refused(&sheet_page(&farmer, id, &now, draft, &input)?))
        }
        Err(f) => Ok(refused(&sheet_page(&farmer, id, &seen, refusal(&form, f)?, &input)?)),
    }
}
