//! The cut sheet of an order: entered for the customer, by phone or from paper, with what comes home of it beside.

use super::words;
use crate::actions::Failure;
use crate::actions::cut_sheet::{Basis, SheetIn, basis, forecast, save_sheet};
use crate::book::ids::ReservationId;
use crate::book::rows::sheets::CutSheet;
use crate::book::sides::SharedSide;
use crate::book::{sheets, sides};
use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::said::{packs, range};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::cuts::{catalogue, common};
use crate::trade::share::Species;
use crate::trade::sheet_json;
use crate::trade::vocabulary::SheetOrigin;
use crate::web::app::App;
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

struct BlockField {
    field: String,
    label: String,
    choices: Choices,
    /// What this share gets of it.
    gets: String,
    /// Where pieces can be shared out: the second choice, how many pieces it gets, and what a piece is.
    second: Option<(String, String, Choices, String)>,
}

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
    blocks: Vec<BlockField>,
    parameters: Vec<ParamField>,
    parts: Choices,
    sausages: Vec<usize>,
    seasonings: Choices,
    forms: Choices,
    asks_skin: bool,
    asks_head: bool,
    home: Vec<HomeLine>,
    sums: Vec<(String, String)>,
    cautions: Vec<String>,
    unit: &'static str,
    is_cancelled: bool,
}

fn faulty(e: &crate::trade::cuts::BadCatalogue) -> Failure {
    Failure::Unexpected(e.to_string())
}

struct Seen {
    basis: Basis,
    stored: Option<CutSheet>,
    side: Option<SharedSide>,
}

async fn look(farmer: &Farmer, app: &App, id: ReservationId) -> Result<Seen, PageError> {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    Ok(app
        .read(move |c| {
            Ok(Seen {
                basis: basis(c, &farm, today, id)?,
                stored: sheets::of(c, &[id])?.remove(&id),
                side: sides::of_order(c, id)?,
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

fn block_field(catalogue: &Catalogue, basis: &Basis, home: Option<&TakeHome<'_>>, block: &Block) -> BlockField {
    let old = basis.hanging.from_30_months();
    let standard = catalogue.standard(block, old);
    let open = |c: &&crate::trade::cuts::catalogue::Choice| !(old && c.backbone);
    let choices: Choices = block.choices.iter().filter(open).map(|c| (c.id.clone(), upper(&c.name))).collect();
    let mut all: Choices =
        vec![(String::new(), standard.map_or("Standard cut".into(), |c| format!("Standard: {}", c.name)))];
    all.extend(choices.iter().cloned());
    let gets: Vec<String> = home.map_or(Vec::new(), |h| {
        h.lines
            .iter()
            .filter(|l| l.block == block.id)
            .map(|l| {
                let pieces = l
                    .pieces
                    .map_or(String::new(), |p| format!(": {} in {}", p.decimal().normalize(), packs(l.packages)));
                let range = range(l.weight.low, l.weight.high, basis.hanging.unit);
                format!("{}{pieces}, {range}", l.name)
            })
            .collect()
    });
    let second = block.pieces.as_ref().map(|p| {
        let label = format!("of {} {}", p.number, p.name);
        (format!("second-{}", block.id), format!("pieces-{}", block.id), choices, label)
    });
    BlockField {
        field: format!("block-{}", block.id),
        label: upper(&block.name),
        choices: all,
        gets: gets.join("; "),
        second,
    }
}

fn sheet_page(
    farmer: &Farmer,
    id: ReservationId,
    seen: &Seen,
    draft: Draft,
    input: &SheetIn,
) -> Result<SheetPage, Failure> {
    let unit = farmer.unit();
    let (catalogue, common) = (catalogue(seen.basis.hanging.species).map_err(faulty)?, common().map_err(faulty)?);
    let home = forecast(&seen.basis, &input.kept).ok();
    let (r, customer, o) = &seen.basis.order;
    let share = words::share(r, o).to_lowercase();
    let mut lines: Vec<HomeLine> = Vec::new();
    let mut sums = Vec::new();
    if let Some(h) = &home {
        lines = show::home_lines(h, seen.basis.hanging.unit);
        sums.push(("Comes home".into(), range(h.packaged.low, h.packaged.high, seen.basis.hanging.unit)));
        sums.push(("Of hanging weight".into(), format!("about {} %", h.percent_of_hanging.round_dp(0))));
        sums.push(show::freezer(h));
    }
    let weight = seen.basis.hanging.weight.short();
    let basis_words = if seen.basis.is_weighed {
        format!("{weight} {unit} hung for this {share}.")
    } else {
        format!("{weight} {unit} expected for this {share}: {}.", seen.basis.rests_on)
    };
    let standing = match &seen.stored {
        None => "No cut sheet yet. What is left as it stands is the standard cut.".to_string(),
        Some(s) => format!("Revision {}, {}.", s.revision, s.origin.label()),
    };
    let species = seen.basis.hanging.species;
    Ok(SheetPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number.clone(),
        heading: format!("Cut sheet of {}", customer.name),
        lead: basis_words,
        standing,
        side: seen
            .side
            .as_ref()
            .map(|s| Link::new(s.url(), format!("What the two quarters of the {} agree on", s.name()))),
        blocks: catalogue.blocks.iter().map(|b| block_field(catalogue, &seen.basis, home.as_ref(), b)).collect(),
        parameters: common.parameters(species).filter_map(show::parameter).collect(),
        parts: catalogue.parts.iter().map(|p| (p.id.clone(), upper(&p.name))).collect(),
        sausages: (1..=SAUSAGES).collect(),
        seasonings: common.seasonings.iter().map(|n| (n.id.clone(), upper(&n.name))).collect(),
        forms: common.forms.iter().map(|n| (n.id.clone(), upper(&n.name))).collect(),
        asks_skin: species == Species::Hog,
        asks_head: species != Species::Beef,
        home: lines,
        sums,
        cautions: show::cautions(home.as_ref()),
        unit,
        is_cancelled: r.cancelled_at.is_some(),
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order; 422 for a fore or hind quarter.
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
    let species = seen.basis.hanging.species;
    let (catalogue, common) = (catalogue(species).map_err(faulty)?, common().map_err(faulty)?);
    let input = read::sheet(&mut form, catalogue, common);
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    if form.is_refused() {
        return Ok(refused(&sheet_page(&farmer, id, &seen, form.into_draft(), &input)?));
    }
    if form.tick("look") {
        return Ok(match forecast(&seen.basis, &input.kept) {
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
