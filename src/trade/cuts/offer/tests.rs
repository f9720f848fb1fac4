//! Offers: what they leave out, what a form shows of them, and what they say of a sheet.

use super::*;
use crate::trade::cuts::sheet::{Hanging, Note, Sausage, Sheet};
use crate::trade::cuts::take_home::take_home;
use crate::trade::cuts::{catalogue, common};
use crate::trade::share::{Part, Size, Species};
use crate::trade::weight::Unit;
use proptest::prelude::*;

fn hanging(species: Species) -> Hanging {
    let weight = Weight::from_hundredths(if species == Species::Beef { 36_000 } else { 9_000 });
    let age_months = Some(20);
    Hanging {
        species,
        unit: Unit::Lb,
        weight,
        size: Size::Half,
        part: Part::Split,
        age_months,
        head_on: false,
        skin_on: false,
    }
}

fn without(service: Service) -> Offer {
    Offer { without_services: [service].into(), ..Offer::default() }
}

fn sausage(seasoning: &str, form: &str, lb: i64) -> Sausage {
    Sausage { seasoning: seasoning.into(), form: form.into(), weight: Weight::from_hundredths(lb * 100) }
}

fn hog(sheet: &Sheet, offer: &Offer) -> Vec<Note> {
    fits(&hanging(Species::Hog), sheet, false, offer, "Pell Road")
}

fn blocks(all: &[(&str, &str)]) -> Sheet {
    Sheet { blocks: all.iter().map(|(a, b)| ((*a).into(), (*b).into())).collect(), ..Sheet::default() }
}

#[test]
fn a_plant_that_said_nothing_does_everything() {
    let offer = Offer::default();
    assert_eq!((offer.write().unwrap().as_str(), Offer::read("{}").unwrap()), ("{}", offer.clone()));
    for species in Species::ALL {
        let (catalogue, common) = (catalogue(*species).unwrap(), common().unwrap());
        let open = narrowed(catalogue, common, &offer, false);
        assert!(open.blocks.iter().all(|b| b.choices.len() == b.block.choices.len() && b.standard.is_some()));
        assert!(open.parameters.iter().all(|p| p.usual == p.parameter.default), "{species}");
        assert_eq!(open.parameters.len(), common.parameters(*species).count(), "{species}");
        assert_eq!(offer.faults(catalogue, common), []);
        let sheet = Sheet::default();
        assert_eq!(filled(catalogue, common, &hanging(*species), &sheet, &offer), sheet);
        assert_eq!(fits(&hanging(*species), &sheet, true, &offer, "Pell Road"), []);
    }
}

#[test]
fn what_a_choice_needs_is_told_by_its_cuts() {
    let needs = |species, block: &str, choice: &str| {
        services_of(catalogue(species).unwrap().block(block).unwrap().choice(choice).unwrap())
    };
    assert_eq!(needs(Species::Hog, "belly", "bacon"), [Service::Cure]);
    assert_eq!(needs(Species::Hog, "belly", "fresh_slab"), []);
    assert_eq!(needs(Species::Beef, "top_round", "cubed"), [Service::Cube]);
    assert_eq!(needs(Species::Beef, "brisket", "corned"), [Service::Cure]);
    assert_eq!(needs(Species::Hog, "backfat", "lard_rendered"), [Service::Lard]);
}

#[test]
fn without_smoking_the_cured_cuts_go_and_fresh_ones_are_the_standard() {
    let (catalogue, common, offer) = (catalogue(Species::Hog).unwrap(), common().unwrap(), without(Service::Cure));
    let open = narrowed(catalogue, common, &offer, false);
    assert!(open.blocks.iter().all(|b| b.choices.iter().all(|c| !c.cured)));
    let standard =
        |block: &str| open.blocks.iter().find(|b| b.block.id == block).unwrap().standard.unwrap().id.as_str();
    assert_eq!(
        (standard("ham_body"), standard("belly"), standard("butt")),
        ("fresh_bone_in", "fresh_side_sliced", "roast_bone_in")
    );
    assert!(!open.parameters.iter().any(|p| p.parameter.id == "ham_cure"), "there is nothing to cure");

    let notes = hog(&Sheet::default(), &offer);
    let ham = notes.iter().find(|n| n.at == "sheet.blocks.ham_body").unwrap();
    assert_eq!(ham.rule, "V15");
    assert!(ham.why.starts_with("Pell Road does no curing and smoking, so there is no “cured and smoked ham halves"));
    assert!(ham.why.contains("Of the ham choose “fresh ham, bone in”, “boneless fresh ham roasts”"), "{}", ham.why);
    // What an open field means there is written out, and then it fits.
    let written = filled(catalogue, common, &hanging(Species::Hog), &Sheet::default(), &offer);
    assert_eq!(written.blocks["ham_body"], "fresh_bone_in");
    assert_eq!(hog(&written, &offer), []);
    assert!(take_home(&hanging(Species::Hog), &written).is_ok());
}

#[test]
fn a_value_that_is_not_cut_is_refused_with_those_that_are() {
    let offer = Offer {
        without_values: [("pork_chop_in".into(), ["0.5".into(), "0.75".into()].into())].into(),
        ..Offer::default()
    };
    let notes = hog(&Sheet::default(), &offer);
    assert_eq!(notes.len(), 1, "{notes:?}");
    assert_eq!(
        (notes[0].at.as_str(), notes[0].why.as_str()),
        (
            "sheet.parameters.pork_chop_in",
            "Chop thickness: Pell Road does not do ¾ inch. Choose 1 inch, 1¼ inches or 1½ inches"
        )
    );
    let (catalogue, common) = (catalogue(Species::Hog).unwrap(), common().unwrap());
    let written = filled(catalogue, common, &hanging(Species::Hog), &Sheet::default(), &offer);
    assert_eq!(written.parameters["pork_chop_in"], "1", "the nearest");
    // Written in another way it is the same thickness; boneless loin ends without chops do not ask for it.
    let half = Sheet { parameters: [("pork_chop_in".into(), "0.50".into())].into(), ..Sheet::default() };
    assert_eq!(hog(&half, &offer).len(), 1);
    let loin = catalogue.blocks.iter().filter(|b| b.primal == "loin");
    let ground = Sheet { blocks: loin.map(|b| (b.id.clone(), "grind".into())).collect(), ..Sheet::default() };
    assert_eq!(hog(&ground, &offer), []);
}

#[test]
fn sausage_has_seasonings_forms_and_smallest_batches() {
    let sheet = |all: Vec<Sausage>| Sheet { sausage: all, ..Sheet::default() };
    let one = |sheet: &Sheet, offer: &Offer| {
        let notes = hog(sheet, offer);
        assert_eq!(notes.len(), 1, "{notes:?}");
        (notes[0].rule.clone(), notes[0].at.clone(), notes[0].why.clone())
    };
    let least = Offer { least: [(Batch::Link, Weight::from_hundredths(1_500))].into(), ..Offer::default() };
    let (rule, at, why) = one(&sheet(vec![sausage("chorizo", "link", 14)]), &least);
    assert_eq!((rule.as_str(), at.as_str()), ("V9", "sheet.sausage[0].weight"));
    assert!(why.contains("from 15 lb") && why.contains("14 lb of chorizo") && why.contains("another form"), "{why}");
    assert_eq!(hog(&sheet(vec![sausage("chorizo", "link", 15), sausage("maple", "bulk", 1)]), &least), []);

    let two = Offer { most_seasonings: Some(1), ..Offer::default() };
    let (rule, _, why) = one(&sheet(vec![sausage("maple", "bulk", 5), sausage("chorizo", "bulk", 5)]), &two);
    assert!(rule == "V9" && why.contains("at most one seasoning"), "{why}");
    assert_eq!(hog(&sheet(vec![sausage("maple", "bulk", 5), sausage("maple", "patty", 5)]), &two), []);

    let no_maple = Offer { without_seasonings: ["maple".into()].into(), ..Offer::default() };
    assert!(
        one(&sheet(vec![sausage("maple", "bulk", 5)]), &no_maple).2.contains("no maple seasoning. Choose breakfast")
    );
    let (_, at, why) = one(&sheet(vec![sausage("maple", "link", 5)]), &without(Service::Link));
    assert_eq!((at.as_str(), why.contains("in bulk or patties")), ("sheet.sausage[0].form", true), "{why}");
    assert!(one(&sheet(vec![sausage("maple", "link", 5)]), &without(Service::Season)).2.contains("makes no sausage"));
    assert!(!without(Service::Season).does(Service::Link), "without seasoning there are no links");
}

#[test]
fn cured_meat_parts_ageing_patties_and_wishes_have_their_limits() {
    let least =
        |lb: i64| Offer { least: [(Batch::Cure, Weight::from_hundredths(lb * 100))].into(), ..Offer::default() };
    let notes = hog(&Sheet::default(), &least(80));
    assert!(notes.len() == 1 && notes[0].why.contains("from 80 lb for a share on"), "{notes:?}");
    assert_eq!(hog(&Sheet::default(), &least(20)), [], "the standard cut cures more than 20 lb of 90");
    let fresh = blocks(&[("ham_body", "grind"), ("belly", "grind"), ("hind_hock", "fresh"), ("fore_hock", "fresh")]);
    assert_eq!(hog(&fresh, &least(80)), [], "nothing is cured");

    let offer = Offer {
        without_parts: ["heart".into()].into(),
        longest_ageing: Some(14),
        without_services: [Service::Patty].into(),
        no_wishes: true,
        ..Offer::default()
    };
    let parameters = [("ageing_days".to_string(), "21".to_string()), ("patties_per_lb".to_string(), "4".to_string())];
    let sheet =
        Sheet { parts: vec!["liver".into(), "heart".into()], parameters: parameters.into(), ..Sheet::default() };
    let notes = fits(&hanging(Species::Beef), &sheet, true, &offer, "Pell Road");
    let said: Vec<&str> = notes.iter().map(|n| n.at.as_str()).collect();
    assert_eq!(
        said,
        ["sheet.parameters.patties_per_lb", "sheet.parameters.ageing_days", "sheet.parts[1]", "special"],
        "{notes:?}"
    );
    assert!(notes[1].why.contains("14 days at most"), "{notes:?}");
}

#[test]
fn an_offer_without_a_way_out_is_refused() {
    let (catalogue, common) = (catalogue(Species::Beef).unwrap(), common().unwrap());
    let all = |block: &str, keep: &[&str]| {
        let all = catalogue.block(block).unwrap().choices.iter().map(|c| c.id.clone());
        (block.to_string(), all.filter(|id| !keep.contains(&id.as_str())).collect())
    };
    let faults = |offer: Offer| offer.faults(catalogue, common);
    let none = Offer { without_choices: [all("neck", &[])].into(), ..Offer::default() };
    assert_eq!(faults(none)[0].0, "block-neck");
    let backbone = Offer { without_choices: [all("short_loin", &["tbone"])].into(), ..Offer::default() };
    let said = faults(backbone);
    assert!(said.len() == 1 && said[0].1.contains("30 months"), "{said:?}");
    let packs = ["1", "1.5", "2", "5"].map(String::from).into();
    let packs = Offer { without_values: [("ground_pkg_lb".into(), packs)].into(), ..Offer::default() };
    assert_eq!(faults(packs)[0].0, "param-ground_pkg_lb");
}

/// Any offer that has no faults.
fn offers(species: Species) -> impl Strategy<Value = Offer> {
    let catalogue = catalogue(species).unwrap();
    let choices: Vec<(String, String)> =
        catalogue.blocks.iter().flat_map(|b| b.choices.iter().map(|c| (b.id.clone(), c.id.clone()))).collect();
    let values: Vec<(String, String)> = common()
        .unwrap()
        .parameters(species)
        .filter(|p| is_ticked(p))
        .flat_map(|p| super::values(p).into_iter().map(|v| (p.id.clone(), v)))
        .collect();
    let services = proptest::sample::subsequence(Service::TICKED.to_vec(), 0..=3);
    let (c, v) = (choices.len() / 2, values.len() / 2);
    let parts = (proptest::sample::subsequence(choices, 0..c), proptest::sample::subsequence(values, 0..v), services);
    parts.prop_filter_map("a way out of every block", move |(choices, values, services)| {
        let mut offer = Offer { without_services: services.into_iter().collect(), ..Offer::default() };
        for (block, choice) in choices {
            offer.without_choices.entry(block).or_default().insert(choice);
        }
        for (parameter, value) in values {
            offer.without_values.entry(parameter).or_default().insert(value);
        }
        let ok = offer.faults(catalogue, common().unwrap()).is_empty();
        ok.then_some(offer)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 100_000, ..ProptestConfig::with_cases(64) })]

    /// Whatever a plant leaves out: what it does instead of the standard cut keeps every rule, fits it, and is shown by its form.
    #[test]
    fn the_standard_cut_of_any_plant_keeps_every_rule(
        (species, offer) in (0..4_usize).prop_flat_map(|n| {
            let species = Species::ALL[n];
            offers(species).prop_map(move |offer| (species, offer))
        })
    ) {
        let (catalogue, common, hanging) = (catalogue(species).unwrap(), common().unwrap(), hanging(species));
        let sheet = filled(catalogue, common, &hanging, &Sheet::default(), &offer);
        prop_assert_eq!(fits(&hanging, &sheet, false, &offer, "x"), vec![]);
        // Packs or roasts may be too many or heavy for what is left; nothing else may be wrong.
        if let Err(refused) = take_home(&hanging, &sheet) {
            let text = format!("{refused:?}");
            prop_assert!(text.contains("V21") || text.contains("V6") || text.contains("V11"), "{} {:?}", text, sheet);
        }
        let open = narrowed(catalogue, common, &offer, false);
        for (block, choice) in &sheet.blocks {
            let shown = open.blocks.iter().find(|b| b.block.id == *block).unwrap();
            prop_assert!(shown.choices.iter().any(|c| c.id == *choice), "{} {}", block, choice);
        }
        prop_assert_eq!(Offer::read(&offer.write().unwrap()).unwrap(), offer);
    }
}
