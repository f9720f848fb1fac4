//! What a form may show of a catalogue for one processor, and what an open field means there.

use super::{Offer, Service, is_plain, read_by, read_by_all};
use crate::trade::cuts::catalogue::{Block, Catalogue, Choice, Part};
use crate::trade::cuts::common::{Common, Named, Parameter};
use crate::trade::cuts::figure::Figure;
use crate::trade::cuts::plan::Plan;
use crate::trade::cuts::quarter::has_use;
use crate::trade::cuts::sheet::{Hanging, Sheet};
use rust_decimal::Decimal;
use std::collections::BTreeSet;

/// A block with the choices that are open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenBlock<'a> {
    /// The block.
    pub block: &'a Block,
    /// Its open choices, in the order of the catalogue.
    pub choices: Vec<&'a Choice>,
    /// What is cut when nothing is chosen; open itself.
    pub standard: Option<&'a Choice>,
}

/// A parameter with the values that are open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenParameter<'a> {
    /// The parameter.
    pub parameter: &'a Parameter,
    /// Its open values, in order.
    pub values: Vec<String>,
    /// What holds when nothing is chosen; open itself.
    pub usual: Option<String>,
}

/// What a form may show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Open<'a> {
    /// Every block of the side.
    pub blocks: Vec<OpenBlock<'a>>,
    /// The parameters that some open choice reads, or that belong to the whole sheet.
    pub parameters: Vec<OpenParameter<'a>>,
    /// Seasonings; empty where no sausage is made.
    pub seasonings: Vec<&'a Named>,
    /// Forms of sausage; empty where no sausage is made.
    pub forms: Vec<&'a Named>,
    /// Parts that are saved.
    pub parts: Vec<&'a Part>,
    /// Whether wishes in words are taken.
    pub takes_wishes: bool,
    /// The most different seasonings on one sheet, if there is a limit.
    pub most_seasonings: Option<u32>,
}

/// Every value a parameter can have, as the catalogue writes them: at most 61 steps of a range.
pub fn values(parameter: &Parameter) -> Vec<String> {
    let Some(limits) = &parameter.number else { return parameter.words.clone() };
    if !limits.allow.is_empty() {
        return limits.allow.iter().map(ToString::to_string).collect();
    }
    let (Some(least), Some(most), Some(step)) = (limits.least, limits.most, limits.step) else { return Vec::new() };
    let step = step.ten_thousandths().max(1);
    let steps = most.ten_thousandths().saturating_sub(least.ten_thousandths()) / step;
    let at = |n: i64| Decimal::new(least.ten_thousandths().saturating_add(n.saturating_mul(step)), 4).normalize();
    (0..=steps.min(60)).map(|n| at(n).to_string()).collect()
}

/// What a form may show for a plant with this offer; `from_30_months`: cattle without its backbone cuts.
pub fn narrowed<'a>(catalogue: &'a Catalogue, common: &'a Common, offer: &Offer, from_30_months: bool) -> Open<'a> {
    let open = |block: &'a Block| {
        let has = |c: &&Choice| !(from_30_months && c.backbone) && offer.has_choice(block, c);
        let choices: Vec<&Choice> = block.choices.iter().filter(has).collect();
        let usual = catalogue.standard(block, from_30_months).filter(|usual| choices.contains(usual));
        let standard = usual.or_else(|| choices.iter().copied().find(|c| is_plain(c)));
        OpenBlock { block, choices, standard }
    };
    let blocks: Vec<OpenBlock<'a>> = catalogue.blocks.iter().map(open).collect();
    let reads =
        |b: &OpenBlock<'a>| -> Vec<&'a str> { b.choices.iter().flat_map(|c| read_by(catalogue, b.block, c)).collect() };
    let read: BTreeSet<&str> = blocks.iter().flat_map(reads).collect();
    let of_cuts: BTreeSet<&str> =
        catalogue.blocks.iter().flat_map(|b| b.choices.iter().flat_map(|c| read_by(catalogue, b, c))).collect();
    let is_wanted = |p: &&Parameter| match p.id.as_str() {
        "patties_per_lb" | "patties_per_pkg" => offer.does(Service::Patty),
        "sausage_pkg_lb" | "sausage_fat_pct" => offer.does(Service::Season),
        id => read.contains(id) || !of_cuts.contains(id),
    };
    let has_use = |p: &&Parameter| has_use(catalogue, &p.id);
    let parameters =
        common.parameters(catalogue.species).filter(has_use).filter(is_wanted).map(|p| parameter(p, offer)).collect();
    Open {
        blocks,
        parameters,
        seasonings: common.seasonings.iter().filter(|s| offer.has_seasoning(&s.id)).collect(),
        forms: common.forms.iter().filter(|f| offer.has_form(&f.id)).collect(),
        parts: catalogue.parts.iter().filter(|p| offer.has_part(&p.id)).collect(),
        takes_wishes: !offer.no_wishes,
        most_seasonings: offer.most_seasonings,
    }
}

fn parameter<'a>(parameter: &'a Parameter, offer: &Offer) -> OpenParameter<'a> {
    let mut open = values(parameter);
    open.retain(|v| offer.has_value(parameter, v));
    let usual = parameter.default.as_ref().and_then(|default| nearest(&open, default));
    OpenParameter { parameter, values: open, usual }
}

/// The value itself where it is open, else the one nearest to it, of two the smaller; of words the first.
fn nearest(open: &[String], wanted: &str) -> Option<String> {
    if open.iter().any(|v| v == wanted) {
        return Some(wanted.to_string());
    }
    let figure = |text: &str| Figure::parse(text).map(Figure::ten_thousandths).ok();
    let Some(from) = figure(wanted) else { return open.first().cloned() };
    let off = |v: &&String| figure(v).map_or(i64::MAX, |n| n.saturating_sub(from).abs());
    open.iter().min_by_key(off).cloned()
}

/// The sheet with everything written out that an open field means here and not elsewhere: where the plant does not do the
/// standard cut, the one it does instead. For a plant that does everything the sheet stays as it is.
pub fn filled(catalogue: &Catalogue, common: &Common, hanging: &Hanging, sheet: &Sheet, offer: &Offer) -> Sheet {
    let mut out = sheet.clone();
    if offer.is_everything() {
        return out;
    }
    let old = hanging.from_30_months();
    let open = narrowed(catalogue, common, offer, old);
    for b in &open.blocks {
        let id = &b.block.id;
        let by_part =
            b.block.choices.iter().any(|c| c.with_part.as_ref().is_some_and(|part| sheet.parts.contains(part)));
        if by_part || sheet.blocks.contains_key(id) || sheet.partitions.contains_key(id) {
            continue;
        }
        let usual = catalogue.standard(b.block, old).map(|c| c.id.as_str());
        if let Some(instead) = b.standard.filter(|c| Some(c.id.as_str()) != usual) {
            out.blocks.insert(id.clone(), instead.id.clone());
        }
    }
    let Ok(plan) = Plan::new(catalogue, hanging, &out) else { return out };
    let mut read = read_by_all(catalogue, &plan.cuttings);
    read.extend(["ground", "ground_pkg_lb", "ground_lean_pct"]);
    if !sheet.sausage.is_empty() {
        read.insert("sausage_pkg_lb");
    }
    if sheet.parameters.contains_key("patties_per_lb") {
        read.insert("patties_per_pkg");
    }
    for p in &open.parameters {
        let id = p.parameter.id.as_str();
        let differs = p.usual.is_some() && p.usual != p.parameter.default;
        if differs && read.contains(id) && !sheet.parameters.contains_key(id) {
            out.parameters.insert(id.to_string(), p.usual.clone().unwrap_or_default());
        }
    }
    out
}
