//! The steps of a customer's cut sheet: one primal a page, then ground meat and sausage, parts of the animal, wishes in words.

use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::common::{Common, Parameter};
use crate::trade::cuts::quarter::{has_use, reads};
use crate::trade::cuts::settings::upper;

/// What a step asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// How a primal is cut.
    Primal(String),
    /// Ground meat and sausage.
    Ground,
    /// What lies outside the hanging weight.
    Parts,
    /// Wishes in words, and ageing.
    Wishes,
}

/// One page of the form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Its place in the address: the id of its first block, or a word.
    pub slug: String,
    /// What a person reads in a sentence: "rib", "ground meat and sausage".
    pub name: String,
    /// What it asks.
    pub kind: Kind,
}

impl Step {
    /// Its name beginning with a capital.
    pub fn title(&self) -> String {
        upper(&self.name)
    }
}

/// The last part of an address for pages that are no blocks.
pub const GROUND: &str = "ground-and-sausage";
/// As [`GROUND`].
pub const PARTS: &str = "parts-of-the-animal";
/// As [`GROUND`].
pub const WISHES: &str = "wishes";

/// All steps, in order.
pub fn all(catalogue: &Catalogue) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    for block in &catalogue.blocks {
        let kind = Kind::Primal(block.primal.clone());
        if !steps.iter().any(|s| s.kind == kind) {
            steps.push(Step { slug: block.id.clone(), name: name(catalogue, &block.primal).to_string(), kind });
        }
    }
    let more = [
        (GROUND, "ground meat and sausage", Kind::Ground),
        (PARTS, "parts of the animal", Kind::Parts),
        (WISHES, "wishes in words", Kind::Wishes),
    ];
    steps.extend(more.map(|(slug, name, kind)| Step { slug: slug.into(), name: name.into(), kind }));
    steps
}

/// What a primal is called: by its block where it has but one.
pub fn name<'a>(catalogue: &'a Catalogue, primal: &'a str) -> &'a str {
    let mut own = catalogue.blocks.iter().filter(|b| b.primal == primal);
    match (own.next(), own.next()) {
        (Some(only), None) => &only.name,
        _ => primal,
    }
}

/// The place of a step by the last part of an address; any block of a primal leads to its page.
pub fn find(catalogue: &Catalogue, steps: &[Step], slug: &str) -> Option<usize> {
    let primal = catalogue.block(slug).map(|b| Kind::Primal(b.primal.clone()));
    steps.iter().position(|s| s.slug == slug || primal.as_ref() == Some(&s.kind))
}

/// The blocks of a step.
pub fn blocks<'a>(catalogue: &'a Catalogue, step: &Step) -> Vec<&'a Block> {
    match &step.kind {
        Kind::Primal(primal) => catalogue.blocks.iter().filter(|b| b.primal == *primal).collect(),
        _ => Vec::new(),
    }
}

/// The parameters of a step, in the order of the catalogue.
pub fn parameters<'a>(catalogue: &'a Catalogue, common: &'a Common, step: &Step) -> Vec<&'a Parameter> {
    let own = blocks(catalogue, step);
    let on_a_block = |p: &Parameter| catalogue.blocks.iter().any(|b| reads(catalogue, b, &p.id));
    let all = common.parameters(catalogue.species).filter(|p| has_use(catalogue, &p.id));
    match &step.kind {
        Kind::Primal(_) => all.filter(|p| own.iter().any(|b| reads(catalogue, b, &p.id))).collect(),
        Kind::Ground => all.filter(|p| p.id != "ageing_days" && !on_a_block(p)).collect(),
        Kind::Wishes => all.filter(|p| p.id == "ageing_days").collect(),
        Kind::Parts => Vec::new(),
    }
}

/// Where a field of the form stands; fields on several pages lead to the first.
pub fn of_field(catalogue: &Catalogue, common: &Common, steps: &[Step], field: &str) -> Option<usize> {
    let block = ["block-", "second-", "pieces-"].iter().find_map(|p| field.strip_prefix(p));
    if let Some(id) = block {
        return find(catalogue, steps, id);
    }
    steps.iter().position(|s| match field.strip_prefix("param-") {
        Some(id) => parameters(catalogue, common, s).iter().any(|p| p.id == id),
        None => match &s.kind {
            Kind::Ground => field.starts_with("sausage-"),
            Kind::Parts => matches!(field, "parts" | "head_on" | "skin_on"),
            Kind::Wishes => field == "special",
            Kind::Primal(_) => false,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::{catalogue, common};
    use crate::trade::share::Species;

    #[test]
    fn every_block_and_parameter_of_every_species_stands_on_a_page() {
        for species in Species::ALL {
            let (catalogue, common) = (catalogue(*species).unwrap(), common().unwrap());
            let steps = all(catalogue);
            for b in &catalogue.blocks {
                let at = find(catalogue, &steps, &b.id).unwrap();
                assert!(blocks(catalogue, &steps[at]).iter().any(|own| own.id == b.id), "{}", b.id);
                assert!(
                    ![GROUND, PARTS, WISHES, "check", "sent"].contains(&b.id.as_str()),
                    "{} is a page's word",
                    b.id
                );
            }
            for p in common.parameters(*species) {
                let at = of_field(catalogue, common, &steps, &format!("param-{}", p.id));
                assert!(at.is_some(), "{} of {species} stands on no page", p.id);
            }
            let mut slugs: Vec<_> = steps.iter().map(|s| &s.slug).collect();
            slugs.sort();
            slugs.dedup();
            assert_eq!(slugs.len(), steps.len(), "two pages have one address");
        }
    }

    #[test]
    fn a_parameter_stands_where_what_it_is_for_is_chosen() {
        let (hog, common) = (catalogue(Species::Hog).unwrap(), common().unwrap());
        let steps = all(hog);
        let at = |field: &str| steps[of_field(hog, common, &steps, field).unwrap()].title();
        assert_eq!(
            ["param-ham_cure", "param-pork_chop_in", "param-bacon_in", "param-ground_pkg_lb", "param-ageing_days"]
                .map(at),
            ["Ham", "Loin", "Belly", "Ground meat and sausage", "Wishes in words"]
        );
        assert_eq!(
            ["block-loin_blade", "sausage-2-weight", "head_on", "special"].map(at),
            ["Loin", "Ground meat and sausage", "Parts of the animal", "Wishes in words"]
        );
        assert_eq!(of_field(hog, common, &steps, ""), None);
    }
}
