//! Whether a sheet can be cut at a plant: V15, what the plant does not do, and V9, its smallest batches and its seasonings.
//!
//! Every sentence names the plant, its limit, and the way out.

use super::{AGEING, Batch, Offer, Service, read_by_all, services_of, values};
use crate::trade::cuts::catalogue::{Catalogue, Choice};
use crate::trade::cuts::common;
use crate::trade::cuts::common::{Common, Named, Parameter};
use crate::trade::cuts::plan::{Plan, at};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::{Hanging, Note, Sheet, listed};
use crate::trade::cuts::take_home::take_home;
use crate::trade::instructions::inches;
use crate::trade::share::Size;
use crate::trade::weight::Weight;
use std::collections::BTreeSet;

/// Ways out that are named in one sentence, at most.
const NAMED: usize = 5;

/// What of a sheet this plant does not do; empty when all of it can be cut there. `special`: whether there is a wish in words.
/// What the catalogue does not know is for [`take_home`] to refuse.
pub fn fits(hanging: &Hanging, sheet: &Sheet, special: bool, offer: &Offer, plant: &str) -> Vec<Note> {
    if offer.is_everything() {
        return Vec::new();
    }
    let (Ok(catalogue), Ok(common)) = (hanging.catalogue(), common()) else { return Vec::new() };
    let look = Look { catalogue, common, hanging, sheet, offer, plant };
    let mut notes = Vec::new();
    look.choices(&mut notes);
    look.parameters(&mut notes);
    look.sausage(&mut notes);
    look.cure(&mut notes);
    for (i, id) in sheet.parts.iter().enumerate().filter(|(_, id)| !offer.has_part(id)) {
        let name = catalogue.part(id).map_or(id.as_str(), |p| p.name.as_str());
        notes.push(Note::new(
            "V15",
            format!("sheet.parts[{i}]"),
            format!("{plant} does not save the {name}. Leave it out"),
        ));
    }
    if special && offer.no_wishes {
        let why = format!("{plant} takes no wishes in words. Choose among the cuts there are, or ask the farm");
        notes.push(Note::new("V15", "special", why));
    }
    notes
}

struct Look<'a> {
    catalogue: &'static Catalogue,
    common: &'static Common,
    hanging: &'a Hanging,
    sheet: &'a Sheet,
    offer: &'a Offer,
    plant: &'a str,
}

/// The first few names, and that there are more.
fn some(names: &[&str]) -> String {
    match names.get(..NAMED).filter(|_| names.len() > NAMED) {
        Some(first) => format!("{} or another one that is offered", first.join(", ")),
        None => listed(names, "or"),
    }
}

impl Look<'_> {
    /// Whether this share of this animal can have a choice wherever it is cut.
    fn can_have(&self, choice: &Choice) -> bool {
        !(self.hanging.from_30_months() && choice.backbone)
            && (self.hanging.skin_on || !choice.skin_on)
            && (self.hanging.size == Size::Whole || choice.whole_animal.is_empty())
    }

    fn choices(&self, notes: &mut Vec<Note>) {
        let Ok(plan) = Plan::new(self.catalogue, self.hanging, self.sheet) else { return };
        for cutting in plan.cuttings.iter().filter(|c| !self.offer.has_choice(c.block, c.choice)) {
            let others: Vec<String> = cutting
                .block
                .choices
                .iter()
                .filter(|c| self.can_have(c) && self.offer.has_choice(cutting.block, c))
                .map(|c| format!("“{}”", c.name))
                .collect();
            let others: Vec<&str> = others.iter().map(String::as_str).collect();
            let lacking = services_of(cutting.choice).into_iter().find(|s| !self.offer.does(*s));
            let why = match lacking {
                Some(service) => format!(
                    "{} does no {}, so there is no “{}”. Of the {} choose {}",
                    self.plant,
                    service.label(),
                    cutting.choice.name,
                    cutting.block.name,
                    some(&others)
                ),
                None => format!(
                    "{} does not do “{}”. Of the {} choose {}",
                    self.plant,
                    cutting.choice.name,
                    cutting.block.name,
                    some(&others)
                ),
            };
            notes.push(Note::new("V15", at(self.sheet, cutting.block), why));
        }
    }

    fn parameters(&self, notes: &mut Vec<Note>) {
        let Ok(plan) = Plan::new(self.catalogue, self.hanging, self.sheet) else { return };
        let mut read = read_by_all(self.catalogue, &plan.cuttings);
        let given = &self.sheet.parameters;
        let has_ground = !matches!(given.get("ground").map(String::as_str), Some("none" | "discard_trim"));
        read.extend(given.keys().map(String::as_str));
        if has_ground {
            read.insert("ground");
            let pack = if given.contains_key("patties_per_lb") { "patties_per_pkg" } else { "ground_pkg_lb" };
            read.extend([pack, "ground_lean_pct"]);
        }
        if !self.sheet.sausage.is_empty() {
            read.insert("sausage_pkg_lb");
        }
        for parameter in self.common.parameters(self.catalogue.species).filter(|p| read.contains(p.id.as_str())) {
            let at = format!("sheet.parameters.{}", parameter.id);
            if parameter.id == "patties_per_lb" && !self.offer.does(Service::Patty) {
                let why = format!("{} makes no patties. Leave them out; the ground meat comes in packs", self.plant);
                notes.push(Note::new("V15", at, why));
                continue;
            }
            let Some(value) = given.get(&parameter.id).or(parameter.default.as_ref()) else { continue };
            if !self.offer.has_value(parameter, value) {
                notes.push(Note::new("V15", at, self.value(parameter, value)));
            }
        }
    }

    fn value(&self, parameter: &Parameter, value: &str) -> String {
        if let (AGEING, Some(most)) = (parameter.id.as_str(), self.offer.longest_ageing) {
            return format!(
                "{} hangs a carcass {most} days at most, and {value} are asked for. Ask for {most} or fewer",
                self.plant
            );
        }
        let open: Vec<String> = values(parameter)
            .into_iter()
            .filter(|v| self.offer.has_value(parameter, v))
            .map(|v| shown(self.common, parameter, &v))
            .collect();
        let open: Vec<&str> = open.iter().map(String::as_str).collect();
        format!(
            "{}: {} does not do {}. Choose {}",
            upper(&parameter.name),
            self.plant,
            shown(self.common, parameter, value),
            listed(&open, "or")
        )
    }

    fn sausage(&self, notes: &mut Vec<Note>) {
        let (offer, plant, unit) = (self.offer, self.plant, self.hanging.unit.as_str());
        if self.sheet.sausage.is_empty() {
            return;
        }
        if !offer.does(Service::Season) {
            let why = format!("{plant} makes no sausage. Leave it out; the meat comes home ground");
            notes.push(Note::new("V15", "sheet.sausage", why));
            return;
        }
        for (i, one) in self.sheet.sausage.iter().enumerate() {
            let at = |field: &str| format!("sheet.sausage[{i}].{field}");
            let seasoning = named(&self.common.seasonings, &one.seasoning);
            if !offer.has_seasoning(&one.seasoning) {
                let open = self.common.seasonings.iter().filter(|s| offer.has_seasoning(&s.id));
                let open: Vec<&str> = open.map(|s| s.name.as_str()).collect();
                let why = if open.is_empty() {
                    format!("{plant} has no seasoning. Leave the sausage out; the meat comes home ground")
                } else {
                    format!("{plant} has no {seasoning} seasoning. Choose {}, or leave this sausage out", some(&open))
                };
                notes.push(Note::new("V15", at("seasoning"), why));
            }
            let form = named(&self.common.forms, &one.form);
            if !offer.has_form(&one.form) {
                let open = self.common.forms.iter().filter(|f| offer.has_form(&f.id));
                let open: Vec<&str> = open.map(|f| f.name.as_str()).collect();
                let why = format!("{plant} makes no sausage as {form}. Have it {}", listed(&open, "or"));
                notes.push(Note::new("V15", at("form"), why));
                continue;
            }
            let least = one.form.parse::<Batch>().ok().and_then(|batch| Some((batch, *offer.least.get(&batch)?)));
            if let Some((batch, least)) = least.filter(|(_, least)| one.weight < *least) {
                let (least, asked) = (least.short(), one.weight.short());
                let why = format!(
                    "{plant} makes {} from {least} {unit} of one seasoning on, and {asked} {unit} of {seasoning} are asked for. \
                     Ask for {least} {unit}, choose another form, or leave it out",
                    batch.label()
                );
                notes.push(Note::new("V9", at("weight"), why));
            }
        }
        let kinds: BTreeSet<&str> = self.sheet.sausage.iter().map(|s| s.seasoning.as_str()).collect();
        if let Some(most) = offer.most_seasonings.filter(|most| kinds.len() > usize::try_from(*most).unwrap_or(0)) {
            let seasonings = if most == 1 { "one seasoning".to_string() } else { format!("{most} seasonings") };
            let why = format!(
                "{plant} makes at most {seasonings} for one share, and {} are asked for. Choose fewer; their weights can be put \
                 together",
                kinds.len()
            );
            notes.push(Note::new("V9", "sheet.sausage", why));
        }
    }

    /// The smallest batch of cured meat, by what the sheet gives of it.
    fn cure(&self, notes: &mut Vec<Note>) {
        let Some(least) = self.offer.least.get(&Batch::Cure).filter(|_| self.offer.does(Service::Cure)) else { return };
        let Ok(home) = take_home(self.hanging, self.sheet) else { return };
        let gives = cured(home.lines.iter().map(|l| (l.keeps, l.weight.expected)));
        if gives.is_zero() || gives >= *least {
            return;
        }
        let (unit, least) = (self.hanging.unit.as_str(), least.short());
        let why = format!(
            "{} cures and smokes from {least} {unit} for a share on, and this sheet gives about {} {unit} of it. Have more of it \
             cured, or all of it fresh",
            self.plant,
            gives.decimal().round_dp(0)
        );
        notes.push(Note::new("V9", "sheet", why));
    }
}

/// What is cured, by how it keeps.
pub(super) fn cured<'a>(lines: impl Iterator<Item = (&'a str, Weight)>) -> Weight {
    let kept = lines.filter(|(keeps, _)| matches!(*keeps, "bacon" | "ham" | "cured"));
    Weight::from_hundredths(kept.map(|(_, weight)| weight.hundredths()).fold(0, i64::saturating_add))
}

fn named<'a>(all: &'a [Named], id: &'a str) -> &'a str {
    all.iter().find(|n| n.id == id).map_or(id, |n| n.name.as_str())
}

/// A value as people read it: “¾ inch”, “2 lb”, “brine-cured and smoked”.
pub fn shown(common: &Common, parameter: &Parameter, value: &str) -> String {
    if let Some(cure) = common.cures.iter().find(|c| c.id == value) {
        return cure.name.clone();
    }
    match (parameter.unit.as_str(), crate::trade::cuts::figure::Figure::parse(value)) {
        ("in", Ok(figure)) => inches(figure),
        ("word", _) | (_, Err(_)) => value.replace('_', " "),
        ("pieces", Ok(figure)) => figure.to_string(),
        (unit, Ok(figure)) => format!("{figure} {unit}"),
    }
}
