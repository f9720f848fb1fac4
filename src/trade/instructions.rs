//! A cut sheet in sentences, in the order a side is cut up: what a cutting room reads.

use super::cuts::catalogue::{Block, Catalogue, Choice, Count};
use super::cuts::common::Common;
use super::cuts::figure::Figure;
use super::cuts::plan::Plan;
use super::cuts::settings::{Settings, upper};
use super::cuts::sheet::{Hanging, Refused, Sheet, listed};
use super::cuts::{BadCatalogue, common};

/// What is to be done with one part of a side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instruction {
    /// The part: "Loin", "Ground and sausage".
    pub part: String,
    /// Sentences.
    pub says: String,
}

/// The instructions of a sheet; choices that were left open are written out as the standard cut.
///
/// # Errors
/// [`Refused::Unknown`] when the sheet names something there is none of.
pub fn instructions(hanging: &Hanging, sheet: &Sheet) -> Result<Vec<Instruction>, Refused> {
    let faulty = |e: &BadCatalogue| Refused::unknown("", e.to_string());
    let (catalogue, common) = (hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
    let settings = Settings::new(common, hanging.species, sheet)?;
    let plan = Plan::new(catalogue, hanging, sheet)?;
    let mut out: Vec<Instruction> = Vec::new();
    for block in &catalogue.blocks {
        let says = of_block(catalogue, common, &settings, &plan, block);
        let part = upper(&block.primal);
        match out.last_mut().filter(|last| last.part == part) {
            Some(last) => last.says = format!("{} {says}", last.says),
            None => out.push(Instruction { part, says }),
        }
    }
    out.push(Instruction { part: "Ground and sausage".into(), says: ground(common, hanging, sheet, &settings) });
    let parts: Vec<&str> = sheet.parts.iter().filter_map(|id| catalogue.part(id)).map(|p| p.name.as_str()).collect();
    let says = if parts.is_empty() { "None.".to_string() } else { format!("{}.", upper(&listed(&parts, "and"))) };
    out.push(Instruction { part: "Organs and other parts".into(), says });
    if let Some(days) = settings.whole("ageing_days").filter(|_| sheet.parameters.contains_key("ageing_days")) {
        out.push(Instruction { part: "Ageing".into(), says: format!("Hang {days} days.") });
    }
    Ok(out)
}

fn of_block(catalogue: &Catalogue, common: &Common, settings: &Settings<'_>, plan: &Plan<'_>, block: &Block) -> String {
    let cuttings: Vec<_> = plan.of(&block.id).collect();
    let say = |choice: &Choice| {
        let details = details(catalogue, common, settings, block, choice);
        if details.is_empty() { choice.name.clone() } else { format!("{}, {}", choice.name, details.join(", ")) }
    };
    // The block is named only where its choice does not name it.
    let named = |text: String| {
        if text.to_lowercase().contains(&block.name.to_lowercase()) {
            format!("{}.", upper(&text))
        } else {
            format!("{}: {text}.", upper(&block.name))
        }
    };
    match cuttings.as_slice() {
        [] => String::new(),
        [one] => named(say(one.choice)),
        several => {
            let piece = block.pieces.as_ref().map_or("pieces", |p| p.name.as_str());
            let all: Vec<String> =
                several.iter().map(|c| format!("{} of {} as {}", c.pieces, block.count(), say(c.choice))).collect();
            format!("{}, by {piece}: {}.", upper(&block.name), all.join("; "))
        }
    }
}

/// How thick, how heavy, how many in a pack, which cure.
fn details(
    catalogue: &Catalogue,
    common: &Common,
    settings: &Settings<'_>,
    block: &Block,
    choice: &Choice,
) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut say = |text: Option<String>| {
        if let Some(text) = text.filter(|t| !out.contains(t)) {
            out.push(text);
        }
    };
    let to_a_pack = |id: &str| settings.whole(id).map(|n| format!("{n} to a pack"));
    let cuts: Vec<_> = choice.cut.keys().filter_map(|id| catalogue.cuts.get(id)).collect();
    for cut in &cuts {
        match &cut.count {
            Count::Slice { thickness, pack, .. } | Count::DoubleSlice { thickness, pack, .. } => {
                say(settings.figure(thickness).map(inches));
                say(to_a_pack(pack));
            }
            Count::Piece { pack: Some(pack), .. } => say(to_a_pack(pack)),
            Count::Roast => say(settings.figure("roast_lb").map(|f| format!("about {f} lb each"))),
            Count::Weight { .. } | Count::Piece { pack: None, .. } | Count::HalfPiece | Count::Bone | Count::Joined => {
            }
        }
    }
    // What goes by weight comes last, by its name where the block gives other cuts as well.
    for cut in &cuts {
        if let Count::Weight { pack } = &cut.count {
            let of = if cuts.len() > 1 { format!("{} in ", cut.name) } else { String::new() };
            say(settings.figure(pack).map(|f| format!("{of}{f} lb packs")));
        }
    }
    if choice.sliced_thin {
        say(settings.word("bacon_in").map(|w| format!("sliced {w}")));
    }
    if choice.cured
        && let Some(cure) = block.cure_parameter.as_ref().and_then(|id| settings.word(id))
    {
        let name = common.cures.iter().find(|c| c.id == cure).map_or(cure, |c| c.name.as_str());
        say(Some(name.to_string()));
    }
    out
}

fn ground(common: &Common, hanging: &Hanging, sheet: &Sheet, settings: &Settings<'_>) -> String {
    let mut says: Vec<String> = Vec::new();
    match settings.word("ground") {
        Some("discard_trim") => says.push("No ground meat; trim is discarded.".into()),
        Some("none") => says.push("No ground meat.".into()),
        _ => {
            let lean = settings.figure("ground_lean_pct").map(|f| format!("{f} % lean, ")).unwrap_or_default();
            let packs = match settings.whole("patties_per_lb") {
                Some(n) => {
                    let pack = settings.whole("patties_per_pkg").unwrap_or(1);
                    format!("all as patties, {n} to the pound, {pack} to a pack")
                }
                None => settings.figure("ground_pkg_lb").map(|f| format!("{f} lb packs")).unwrap_or_default(),
            };
            says.push(format!("Ground: {lean}{packs}."));
        }
    }
    for one in &sheet.sausage {
        let name = |all: &[super::cuts::common::Named], id: &str| {
            all.iter().find(|n| n.id == id).map_or_else(|| id.to_string(), |n| n.name.clone())
        };
        let (seasoning, form) = (name(&common.seasonings, &one.seasoning), name(&common.forms, &one.form));
        let packs = settings.figure("sausage_pkg_lb").map(|f| format!(", {f} lb packs")).unwrap_or_default();
        says.push(format!("{} {} of {seasoning} sausage, {form}{packs}.", one.weight.short(), hanging.unit));
    }
    if let Some(n) = settings.whole("chuck_roasts") {
        says.push(format!("{n} chuck roasts in all."));
    }
    says.join(" ")
}

/// "¾ inch", "1 inch", "1¼ inches".
pub fn inches(figure: Figure) -> String {
    let n = figure.ten_thousandths();
    let part = match n % 10_000 {
        1_250 => "⅛",
        2_500 => "¼",
        3_750 => "⅜",
        5_000 => "½",
        6_250 => "⅝",
        7_500 => "¾",
        8_750 => "⅞",
        0 => "",
        _ => return format!("{figure} inches"),
    };
    let (whole, more) = (n / 10_000, n > 10_000);
    let whole = if whole == 0 { String::new() } else { whole.to_string() };
    format!("{whole}{part} inch{}", if more { "es" } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::catalogue;
    use crate::trade::share::{Part, Size, Species};
    use crate::trade::weight::{Unit, Weight};

    fn hanging(species: Species) -> Hanging {
        let weight = Weight::from_hundredths(9_000);
        Hanging {
            species,
            unit: Unit::Lb,
            weight,
            size: Size::Half,
            part: Part::Split,
            age_months: None,
            head_on: false,
            skin_on: false,
        }
    }

    #[test]
    fn thickness_is_written_as_a_butcher_says_it() {
        let say = |text: &str| inches(Figure::parse(text).unwrap());
        assert_eq!(["0.75", "1", "1.25", "2"].map(say), ["¾ inch", "1 inch", "1¼ inches", "2 inches"]);
    }

    #[test]
    fn a_hog_half_is_written_out_block_by_block() {
        let sheet = Sheet {
            blocks: [("ham_body".to_string(), "grind".to_string())].into(),
            parameters: [("pork_chop_in".to_string(), "1".to_string())].into(),
            parts: vec!["heart".into(), "liver".into()],
            ..Sheet::default()
        };
        let all = instructions(&hanging(Species::Hog), &sheet).unwrap();
        let of = |part: &str| all.iter().find(|i| i.part == part).map(|i| i.says.as_str()).unwrap_or_default();
        assert!(of("Ham").starts_with("Ham: ground or sausage."), "{}", of("Ham"));
        assert!(of("Loin").contains("1 inch") && of("Loin").contains("4 to a pack"), "{}", of("Loin"));
        assert_eq!(of("Organs and other parts"), "Heart and liver.");
        assert!(of("Ground and sausage").contains("1 lb packs"));
    }

    #[test]
    fn every_block_of_every_species_has_its_sentence() {
        for species in Species::ALL {
            let all = instructions(&hanging(*species), &Sheet::default()).unwrap();
            for block in &catalogue(*species).unwrap().blocks {
                assert!(all.iter().any(|i| i.part == upper(&block.primal)), "{} of {species:?}", block.id);
            }
            assert!(all.iter().all(|i| i.says.ends_with('.')), "{all:?}");
        }
    }
}
