//! The cut sheet of an order: entered for the customer, by phone or from paper, with what comes home of it beside.

use super::words;
use crate::actions::Failure;
use crate::actions::cut_sheet::{Basis, LONGEST_WISH, SheetIn, basis, forecast, save_sheet};
use crate::book::ids::ReservationId;
use crate::book::rows::sheets::CutSheet;
use crate::book::sheets;
use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::common::{Common, Parameter};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::{Sausage, Sheet, Slice};
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::cuts::{catalogue, common};
use crate::trade::instructions::inches;
use crate::trade::share::Species;
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::SheetOrigin;
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::BTreeMap;

/// Rows for sausages.
const SAUSAGES: usize = 3;

struct BlockField {
    field: String,
    label: String,
    choices: Choices,
    /// What this share gets of it.
    gets: String,
    /// Where pieces can be shared out: the second choice, how many pieces it gets, and what a piece is.
    second: Option<(String, String, Choices, String)>,
}

struct ParamField {
    field: String,
    label: String,
    choices: Choices,
    none: String,
}

struct HomeLine {
    name: String,
    pieces: String,
    packs: String,
    range: String,
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
}

async fn look(farmer: &Farmer, app: &App, id: ReservationId) -> Result<Seen, PageError> {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    Ok(app
        .read(move |c| Ok(Seen { basis: basis(c, &farm, today, id)?, stored: sheets::of(c, &[id])?.remove(&id) }))
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
    let mut draft = Draft::empty().with("version", version.to_string()).with("special", input.special.clone());
    let sheet = &input.kept.sheet;
    for (block, choice) in &sheet.blocks {
        draft = draft.with(format!("block-{block}"), choice.clone());
    }
    for (block, slices) in &sheet.partitions {
        if let [first, second, ..] = slices.as_slice() {
            draft = draft
                .with(format!("block-{block}"), first.choice.clone())
                .with(format!("second-{block}"), second.choice.clone())
                .with(format!("pieces-{block}"), second.pieces.to_string());
        }
    }
    for (id, value) in &sheet.parameters {
        draft = draft.with(format!("param-{id}"), value.clone());
    }
    for part in &sheet.parts {
        draft = draft.with("parts", part.clone());
    }
    for (n, s) in (1..).zip(&sheet.sausage) {
        draft = draft
            .with(format!("sausage-{n}-seasoning"), s.seasoning.clone())
            .with(format!("sausage-{n}-form"), s.form.clone())
            .with(format!("sausage-{n}-weight"), s.weight.short());
    }
    for (name, on) in [("head_on", input.kept.head_on), ("skin_on", input.kept.skin_on)] {
        if on {
            draft = draft.with(name, "yes");
        }
    }
    Ok((draft, input))
}

/// Reads the form into a sheet. What the catalogue does not know is refused by its rules, at the same field.
fn read(form: &mut FormIn, catalogue: &Catalogue, common: &Common) -> SheetIn {
    let mut sheet = Sheet::default();
    for block in &catalogue.blocks {
        let (first, second) = (form.line(&format!("block-{}", block.id)), form.line(&format!("second-{}", block.id)));
        if let (Some(pieces), false) = (&block.pieces, second.is_empty()) {
            let field = format!("pieces-{}", block.id);
            let most = i64::from(pieces.number.saturating_sub(1)).max(1);
            let Some(n) = form.whole_number(&field, &format!("{}, pieces", upper(&block.name)), 1..=most) else {
                continue;
            };
            let n = u32::try_from(n).unwrap_or(1);
            let standard = catalogue.standard(block, false).map(|c| c.id.clone()).unwrap_or_default();
            let first = if first.is_empty() { standard } else { first };
            let rest = pieces.number.saturating_sub(n);
            let slices = vec![Slice { choice: first, pieces: rest }, Slice { choice: second, pieces: n }];
            sheet.partitions.insert(block.id.clone(), slices);
        } else if !first.is_empty() {
            sheet.blocks.insert(block.id.clone(), first);
        }
    }
    for p in common.parameters(catalogue.species) {
        let value = form.line(&format!("param-{}", p.id));
        if !value.is_empty() {
            sheet.parameters.insert(p.id.clone(), value);
        }
    }
    for n in 1..=SAUSAGES {
        let seasoning = form.line(&format!("sausage-{n}-seasoning"));
        let field = format!("sausage-{n}-weight");
        if seasoning.is_empty() {
            if !form.is_blank(&field) {
                form.problem(&field, "Choose a seasoning for this sausage, or clear its weight.");
            }
            continue;
        }
        let form_of = form.line(&format!("sausage-{n}-form"));
        if let Some(weight) = form.weight(&field, "Sausage, weight") {
            sheet.sausage.push(Sausage {
                seasoning,
                form: if form_of.is_empty() { "bulk".into() } else { form_of },
                weight,
            });
        }
    }
    sheet.parts = form.all("parts");
    let (head_on, skin_on) = (form.tick("head_on"), form.tick("skin_on"));
    let special = form.optional_lines("special", "Special wish", LONGEST_WISH).unwrap_or_default();
    SheetIn { kept: Kept { sheet, head_on, skin_on }, special }
}

fn shown(p: &Parameter, value: &str) -> String {
    let words = value.replace('_', " ");
    match (p.unit.as_str(), crate::trade::cuts::figure::Figure::parse(value)) {
        ("in", Ok(figure)) => inches(figure),
        ("word", _) | (_, Err(_)) => words,
        ("pieces", Ok(_)) => words,
        (unit, Ok(_)) => format!("{words} {unit}"),
    }
}

/// A parameter as a list to choose from; those with long ranges are left to the special wish.
fn parameter(p: &Parameter) -> Option<ParamField> {
    let values: Vec<String> = match &p.number {
        None => p.words.clone(),
        Some(l) if !l.allow.is_empty() => l.allow.iter().map(ToString::to_string).collect(),
        Some(l) => {
            let (least, most) = (l.least?.ten_thousandths(), l.most?.ten_thousandths());
            let step = l.step?.ten_thousandths().max(1);
            let n = most.saturating_sub(least) / step;
            let at = |i: i64| rust_decimal::Decimal::new(least.saturating_add(i.saturating_mul(step)), 4).normalize();
            (0..=n.min(60)).map(|i| at(i).to_string()).collect()
        }
    };
    let none = p.default.as_ref().map_or("Not asked".to_string(), |d| format!("{} (usual)", upper(&shown(p, d))));
    Some(ParamField {
        field: format!("param-{}", p.id),
        label: upper(&p.name),
        choices: values.into_iter().map(|v| (v.clone(), upper(&shown(p, &v)))).collect(),
        none,
    })
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
                let range = range(l.weight.low, l.weight.high, basis.hanging.unit.as_str());
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

fn packs(n: i64) -> String {
    format!("{n} pack{}", if n == 1 { "" } else { "s" })
}

fn range(low: Weight, high: Weight, unit: &str) -> String {
    let whole = |w: Weight| crate::trade::decimal::round_fixed(w.decimal(), 0).unwrap_or(0);
    let (low_n, high_n) = (whole(low), whole(high));
    if high_n >= 10 {
        return format!("{low_n}–{high_n} {unit}");
    }
    let tenth = |w: Weight| w.decimal().round_dp_with_strategy(1, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    format!("{}–{} {unit}", tenth(low).normalize(), tenth(high).normalize())
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
        lines.extend(h.lines.iter().map(|l| HomeLine {
            name: upper(l.name),
            pieces: l.pieces.map(|p| p.decimal().normalize().to_string()).unwrap_or_default(),
            packs: l.packages.to_string(),
            range: range(l.weight.low, l.weight.high, unit),
        }));
        let ground = HomeLine {
            name: "Ground meat".into(),
            pieces: String::new(),
            packs: h.ground_packages.to_string(),
            range: range(h.ground.low, h.ground.high, unit),
        };
        lines.extend((!h.ground.expected.is_zero()).then_some(ground));
        lines.extend(h.sausage.iter().map(|s| HomeLine {
            name: format!("{} sausage, {}", upper(&s.seasoning.replace('_', " ")), s.form),
            pieces: String::new(),
            packs: s.packages.to_string(),
            range: range(s.weight.low, s.weight.high, unit),
        }));
        sums.push(("Comes home".into(), range(h.packaged.low, h.packaged.high, unit)));
        sums.push(("Of hanging weight".into(), format!("about {} %", h.percent_of_hanging.round_dp(0))));
        let (low, high) = h.cubic_feet;
        sums.push(("Freezer".into(), format!("{}–{} cubic feet", low.round_dp(1), high.round_dp(1))));
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
        blocks: catalogue.blocks.iter().map(|b| block_field(catalogue, &seen.basis, home.as_ref(), b)).collect(),
        parameters: common.parameters(species).filter_map(parameter).collect(),
        parts: catalogue.parts.iter().map(|p| (p.id.clone(), upper(&p.name))).collect(),
        sausages: (1..=SAUSAGES).collect(),
        seasonings: common.seasonings.iter().map(|n| (n.id.clone(), upper(&n.name))).collect(),
        forms: common.forms.iter().map(|n| (n.id.clone(), upper(&n.name))).collect(),
        asks_skin: species == Species::Hog,
        asks_head: species != Species::Beef,
        home: lines,
        sums,
        cautions: home.map_or(Vec::new(), |h| {
            let mut said: BTreeMap<String, ()> = BTreeMap::new();
            h.cautions.into_iter().map(|n| n.why).filter(|w| said.insert(w.clone(), ()).is_none()).collect()
        }),
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
    let input = read(&mut form, catalogue, common);
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
