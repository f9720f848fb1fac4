//! `gambrel reckon catalogue SPECIES`: what holds for cut sheets of a species, each figure with its source and mark.

use super::Refusal;
use crate::trade::cuts::catalogue::Catalogue;
use crate::trade::cuts::common::{Cure, Freezer, Named, Parameter, Range, Rule, SawKerf, Storage};
use crate::trade::cuts::{BadCatalogue, catalogue, common};
use crate::trade::share::Species;
use serde::Serialize;
use std::collections::BTreeMap;

/// The answer, in this order.
#[derive(Serialize)]
pub(super) struct Answer {
    #[serde(flatten)]
    catalogue: &'static Catalogue,
    parameters: Vec<&'static Parameter>,
    seasonings: &'static [Named],
    forms: &'static [Named],
    #[serde(skip_serializing_if = "<[Cure]>::is_empty")]
    cures: &'static [Cure],
    storage: &'static [Storage],
    freezer: &'static Freezer,
    saw_kerf_in: &'static SawKerf,
    range: &'static Range,
    rules: BTreeMap<&'static str, &'static Rule>,
    sources: &'static BTreeMap<String, String>,
}

pub(super) fn print(species: Species) -> Result<Answer, Refusal> {
    let faulty = |e: &BadCatalogue| Refusal::new("", e);
    let (catalogue, common) = (catalogue(species).map_err(faulty)?, common().map_err(faulty)?);
    let own: &[char] = match species {
        Species::Beef => &['B', 'V'],
        Species::Hog => &['H', 'V'],
        Species::Lamb => &['L', 'V'],
        Species::Goat => &['G', 'L', 'V'],
    };
    Ok(Answer {
        catalogue,
        parameters: common.parameters(species).collect(),
        seasonings: &common.seasonings,
        forms: &common.forms,
        cures: if species == Species::Hog { &common.cures } else { &[] },
        storage: &common.storage,
        freezer: &common.freezer,
        saw_kerf_in: &common.saw_kerf_in,
        range: &common.range,
        rules: common
            .rules
            .iter()
            .filter(|(id, _)| id.starts_with(own))
            .map(|(id, rule)| (id.as_str(), rule))
            .collect(),
        sources: &common.sources,
    })
}
