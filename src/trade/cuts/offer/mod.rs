//! What a processor does with a species, and what is not to be had there.
//!
//! An offer is kept as what is left out. So a plant that nobody asked does everything in the catalogue, and a choice that is
//! added to the catalogue later is to be had until somebody says that it is not.

mod fits;
mod narrowed;

pub use fits::{fits, shown};
pub use narrowed::{Open, OpenBlock, OpenParameter, filled, narrowed, values};

use super::catalogue::{Block, Catalogue, Choice};
use super::common::{Common, Parameter};
use super::figure::Figure;
use super::plan::Cutting;
use super::sheet::listed;
use crate::trade::weight::Weight;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

crate::words! {
    /// Work at a plant beyond sawing and wrapping. A charge by the weight or the packs of a product is for one of these.
    pub enum Service {
        /// Everything that is packed, ground meat and sausage too.
        Pack = "pack", "everything packed";
        /// Cured meat, smoked or not: hams, bacon, hocks, corned brisket.
        Cure = "cure", "curing and smoking";
        /// Seasoned sausage in any form.
        Season = "season", "seasoned sausage";
        /// Sausage in links.
        Link = "link", "sausage in links";
        /// Patties of ground meat or sausage.
        Patty = "patty", "patties";
        /// Steaks run through a tenderizer.
        Cube = "cube", "cubed steak";
        /// Fat rendered into lard.
        Lard = "lard", "rendered lard";
    }
}

crate::words! {
    /// What has a smallest batch.
    pub enum Batch {
        /// Sausage in bulk, of one seasoning.
        Bulk = "bulk", "sausage in bulk";
        /// Sausage in patties, of one seasoning.
        Patty = "patty", "sausage in patties";
        /// Sausage in links, of one seasoning.
        Link = "link", "sausage in links";
        /// All that is cured for one share.
        Cure = "cure", "cured meat";
    }
}

impl Service {
    /// Those a plant may do or not; packing is what every plant does.
    pub const TICKED: &'static [Self] = &[Self::Cure, Self::Season, Self::Link, Self::Patty, Self::Cube, Self::Lard];
}

impl Batch {
    /// The smallest batch to begin with when a plant is asked, in lb. A planning figure of ours, without a source.
    pub const fn suggested_lb(self) -> Option<i64> {
        match self {
            Self::Bulk => Some(5),
            Self::Patty => Some(10),
            Self::Link => Some(15),
            Self::Cure => None,
        }
    }
}

/// How many seasonings a plant often makes for a half. From memory, without a source.
pub const SUGGESTED_SEASONINGS: u32 = 2;
/// The most seasonings that can be set as a limit.
pub const MOST_SEASONINGS: u32 = 8;
/// The longest ageing that can be set as a limit, in days; that of the catalogue.
pub const MOST_AGEING: u32 = 60;
/// The parameter for days of ageing, which has a limit of its own in place of values to tick.
const AGEING: &str = "ageing_days";

/// What one processor leaves out of one species' catalogue, and its limits. The default leaves nothing out.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Offer {
    /// Choices that are not done, by block.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub without_choices: BTreeMap<String, BTreeSet<String>>,
    /// Values of parameters that are not done, by parameter, as the catalogue writes them.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub without_values: BTreeMap<String, BTreeSet<String>>,
    /// Services that are not done; with each go all choices and forms that need it.
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    pub without_services: BTreeSet<Service>,
    /// Seasonings that are not made.
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    pub without_seasonings: BTreeSet<String>,
    /// Parts that are not saved.
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    pub without_parts: BTreeSet<String>,
    /// Whether wishes in words are not taken.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub no_wishes: bool,
    /// The most different seasonings on one sheet, 1 to [`MOST_SEASONINGS`]; no limit if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_seasonings: Option<u32>,
    /// The longest ageing, in days, 0 to [`MOST_AGEING`]; no limit if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_ageing: Option<u32>,
    /// Smallest batches, in the farm's unit.
    #[serde(with = "plain", skip_serializing_if = "BTreeMap::is_empty")]
    pub least: BTreeMap<Batch, Weight>,
}

/// Weights as plain text, such as "15.00".
mod plain {
    use super::{Batch, Weight};
    use serde::{Deserialize, Deserializer, Serializer, de::Error};
    use std::collections::BTreeMap;

    pub(super) fn serialize<S: Serializer>(least: &BTreeMap<Batch, Weight>, s: S) -> Result<S::Ok, S::Error> {
        s.collect_map(least.iter().map(|(batch, weight)| (batch, weight.plain())))
    }
    pub(super) fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<BTreeMap<Batch, Weight>, D::Error> {
        let written = BTreeMap::<Batch, String>::deserialize(d)?;
        let weight = |(batch, text): (Batch, String)| {
            let weight = Weight::parse(&text).map_err(|_| D::Error::custom(format!("“{text}” is no weight")))?;
            Ok((batch, weight))
        };
        written.into_iter().map(weight).collect()
    }
}

impl Offer {
    /// Reads an offer as it is stored.
    ///
    /// # Errors
    /// A sentence when it cannot be read; that is a fault of ours.
    pub fn read(text: &str) -> Result<Self, String> {
        serde_json::from_str(text).map_err(|e| format!("the stored offer of a processor cannot be read: {e}"))
    }
    /// The offer as it is stored.
    ///
    /// # Errors
    /// A sentence when it cannot be written; that is a fault of ours.
    pub fn write(&self) -> Result<String, String> {
        serde_json::to_string(self).map_err(|e| e.to_string())
    }
    /// Whether nothing is left out and nothing is limited.
    pub fn is_everything(&self) -> bool {
        *self == Self::default()
    }
    /// Whether a service is done.
    pub fn does(&self, service: Service) -> bool {
        let of_sausage = matches!(service, Service::Link) && self.without_services.contains(&Service::Season);
        !of_sausage && !self.without_services.contains(&service)
    }
    /// Whether a choice of a block is to be had.
    pub fn has_choice(&self, block: &Block, choice: &Choice) -> bool {
        let left_out = self.without_choices.get(&block.id).is_some_and(|all| all.contains(&choice.id));
        !left_out && services_of(choice).into_iter().all(|service| self.does(service))
    }
    /// Whether a value of a parameter is to be had. What is no value at all is for the rules of the sheet to say.
    pub fn has_value(&self, parameter: &Parameter, value: &str) -> bool {
        if parameter.id == AGEING {
            let days = Figure::parse(value).ok();
            return !matches!((days, self.longest_ageing), (Some(d), Some(most)) if d > Figure::whole(i64::from(most)));
        }
        let Some(without) = self.without_values.get(&parameter.id) else { return true };
        match (parameter.number.is_some(), Figure::parse(value)) {
            (true, Ok(figure)) => !without.iter().any(|w| Figure::parse(w) == Ok(figure)),
            _ => !without.contains(value),
        }
    }
    /// Whether a seasoning is to be had.
    pub fn has_seasoning(&self, id: &str) -> bool {
        self.does(Service::Season) && !self.without_seasonings.contains(id)
    }
    /// Whether a form of sausage is to be had.
    pub fn has_form(&self, id: &str) -> bool {
        self.does(Service::Season)
            && match id {
                "link" => self.does(Service::Link),
                "patty" => self.does(Service::Patty),
                _ => true,
            }
    }
    /// Whether a part is saved.
    pub fn has_part(&self, id: &str) -> bool {
        !self.without_parts.contains(id)
    }

    /// What is left out and limited, in a sentence or two; “Everything is done.” where nothing is.
    pub fn in_words(&self) -> String {
        let several = |n: usize, one: &str, many: &str| {
            (n > 0).then(|| if n == 1 { format!("one {one}") } else { format!("{n} {many}") })
        };
        let choices = self.without_choices.values().map(BTreeSet::len).sum();
        let values = self.without_values.values().map(BTreeSet::len).sum();
        let mut out: Vec<String> = self.without_services.iter().map(|s| s.label().to_string()).collect();
        out.extend(several(choices, "way to cut", "ways to cut"));
        out.extend(several(values, "thickness, weight or pack", "thicknesses, weights or packs"));
        out.extend(several(self.without_seasonings.len(), "seasoning", "seasonings"));
        out.extend(several(self.without_parts.len(), "part", "parts"));
        out.extend(self.no_wishes.then(|| "wishes in words".to_string()));
        let limits = [self.most_seasonings.is_some(), self.longest_ageing.is_some(), !self.least.is_empty()];
        let limits = if limits.contains(&true) { " It has limits for batches, seasonings or ageing." } else { "" };
        let left_out: Vec<&str> = out.iter().map(String::as_str).collect();
        match left_out.is_empty() {
            true => format!("Everything is done.{limits}"),
            false => format!("Left out: {}.{limits}", listed(&left_out, "and")),
        }
    }

    /// What makes an offer useless: a block with nothing left to choose, a parameter without a value. Each with the block or
    /// parameter it is about.
    pub fn faults(&self, catalogue: &Catalogue, common: &Common) -> Vec<(String, String)> {
        let mut faults = Vec::new();
        for block in &catalogue.blocks {
            // Something that every share and every animal can have.
            let has = |old: bool| {
                block.choices.iter().any(|c| is_plain(c) && !(old && c.backbone) && self.has_choice(block, c))
            };
            let at = format!("block-{}", block.id);
            if !has(false) {
                let why = format!(
                    "Nothing that every share can have is left for the {}. Tick one more way, such as ground, or tick the work \
                     it needs",
                    block.name
                );
                faults.push((at, why));
            } else if !has(true) {
                let why = format!(
                    "Of the {} only cuts with backbone are left, and from cattle of 30 months or more the plant takes the \
                     backbone out (9 CFR 310.22). Tick one more way",
                    block.name
                );
                faults.push((at, why));
            }
        }
        for parameter in common.parameters(catalogue.species).filter(|p| is_ticked(p) && p.default.is_some()) {
            if !values(parameter).iter().any(|v| self.has_value(parameter, v)) {
                let why = format!("Nothing is ticked for {}. Tick what the plant does", parameter.name);
                faults.push((format!("param-{}", parameter.id), why));
            }
        }
        faults
    }
}

/// Whether a plant is asked for the values of a parameter. The others are the customer's own matter, or have a limit of their
/// own.
pub fn is_ticked(parameter: &Parameter) -> bool {
    !matches!(parameter.id.as_str(), AGEING | "chuck_roasts" | "ground" | "sausage_fat_pct")
}

/// Whether any share of any animal can have it, alone in its block.
fn is_plain(choice: &Choice) -> bool {
    choice.together.is_none() && choice.whole_animal.is_empty() && !choice.skin_on && choice.with_part.is_none()
}

/// What has to be done for a choice beyond sawing and wrapping.
pub fn services_of(choice: &Choice) -> Vec<Service> {
    let cuts = || choice.cut.keys().map(String::as_str);
    let mut out: Vec<Service> = cuts().filter_map(service_of_cut).filter(|s| *s != Service::Cure).collect();
    if choice.cured {
        out.push(Service::Cure);
    }
    out.sort_unstable();
    out.dedup();
    out
}

/// The work a cut by itself tells of.
pub(crate) fn service_of_cut(cut: &str) -> Option<Service> {
    match cut {
        "cubed_steak" => Some(Service::Cube),
        "lard" => Some(Service::Lard),
        _ => None,
    }
}

/// The parameters a cutting reads: how thick, how many to a pack, which cure.
fn read_by<'a>(catalogue: &'a Catalogue, block: &'a Block, choice: &'a Choice) -> Vec<&'a str> {
    let counts = choice.cut.keys().filter_map(|id| catalogue.cuts.get(id)).map(|cut| &cut.count);
    let mut ids: Vec<&str> = counts.flat_map(super::check::names).collect();
    if choice.sliced_thin {
        ids.push("bacon_in");
    }
    if let Some(cure) = block.cure_parameter.as_deref().filter(|_| choice.cured) {
        ids.push(cure);
    }
    ids
}

/// The same of a whole side.
fn read_by_all<'a>(catalogue: &'a Catalogue, cuttings: &[Cutting<'a>]) -> BTreeSet<&'a str> {
    cuttings.iter().flat_map(|c| read_by(catalogue, c.block, c.choice)).collect()
}

#[cfg(test)]
mod tests;
