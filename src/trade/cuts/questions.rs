//! Three questions instead of a hundred: mostly ground, some of each or mostly roasts; with bone or without; how many eat.

use super::BadCatalogue;
use super::catalogue::{Block, Choice};
use super::sheet::{Hanging, Refused, Sausage, Sheet};
use super::take_home::take_home;
use crate::trade::share::Species;
use crate::trade::weight::Weight;
use rust_decimal::Decimal;

crate::words! {
    /// What a household cooks most.
    pub enum Kind {
        /// Ground meat and sausage.
        Ground = "ground", "mostly ground meat and sausage";
        /// Some of each.
        Balanced = "balanced", "some of each";
        /// Roasts and large pieces.
        Roasts = "roasts", "mostly roasts";
    }
}

/// The most that eat together.
pub const MOST_EATERS: i64 = 20;

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answers {
    /// What is cooked most.
    pub kind: Kind,
    /// Whether bones stay in where there is a choice.
    pub bone_in: bool,
    /// How many eat together, 1 to [`MOST_EATERS`].
    pub eaters: i64,
}

/// A sheet for three answers; it keeps every rule. `may` says what the processor does of a block.
///
/// Packs and roasts follow the number that eat: three quarters of a pound of roast with bone and half a pound without bone or
/// of ground meat for each (USDA Farmers' Bulletin 2264 says so of lamb), one steak or pork chop each, two chops of lamb or goat
/// each (common practice, no source).
///
/// # Errors
/// [`Refused`] when nothing can be cut for this share at all, such as a quarter of a lamb.
pub fn sheet_for(hanging: &Hanging, answers: Answers, may: &dyn Fn(&Block, &Choice) -> bool) -> Result<Sheet, Refused> {
    let catalogue = hanging.catalogue().map_err(|e: &BadCatalogue| Refused::unknown("", e.to_string()))?;
    let old = hanging.from_30_months();
    let mut sheet = Sheet::default();
    for block in &catalogue.blocks {
        let guide = catalogue.guide.get(&block.id);
        let pair = guide.map(|g| match answers.kind {
            Kind::Ground => &g.ground,
            Kind::Balanced => &g.balanced,
            Kind::Roasts => &g.roasts,
        });
        let wanted = pair.and_then(|[with, without]| {
            let with = block.choice(with).filter(|c| answers.bone_in && !(old && c.backbone) && may(block, c));
            with.or_else(|| block.choice(without).filter(|c| may(block, c)))
        });
        if let Some(choice) = wanted.or_else(|| any(block, catalogue.standard(block, old), old, may)) {
            sheet.blocks.insert(block.id.clone(), choice.id.clone());
        }
    }
    packs(&mut sheet, hanging.species, answers);
    lighter_roasts(hanging, &mut sheet)?;
    if answers.kind == Kind::Ground && hanging.species == Species::Hog {
        let home = take_home(hanging, &sheet)?;
        let half = home.ground.low.hundredths() / 200 * 100;
        if half > 0 {
            let (seasoning, form) = ("breakfast".to_string(), "bulk".to_string());
            sheet.sausage.push(Sausage { seasoning, form, weight: Weight::from_hundredths(half) });
        }
    }
    Ok(sheet)
}

/// What takes the place of a choice that the processor does not make.
fn any<'a>(
    block: &'a Block,
    standard: Option<&'a Choice>,
    old: bool,
    may: &dyn Fn(&Block, &Choice) -> bool,
) -> Option<&'a Choice> {
    let free = |c: &&Choice| {
        let is_bound = c.together.is_some() || c.with_part.is_some() || c.skin_on || !c.whole_animal.is_empty();
        may(block, c) && !is_bound && !(old && c.backbone)
    };
    standard.filter(free).or_else(|| block.choices.iter().find(free))
}

fn packs(sheet: &mut Sheet, species: Species, answers: Answers) {
    let n = answers.eaters.clamp(1, MOST_EATERS);
    let mut set = |id: &str, value: String| drop(sheet.parameters.insert(id.to_string(), value));
    set("steaks_per_pkg", n.min(6).to_string());
    match species {
        Species::Beef => {}
        Species::Hog => set("chops_per_pkg", n.min(8).to_string()),
        Species::Lamb | Species::Goat => set("chops_per_pkg", (2 * n).min(8).to_string()),
    }
    // In half pounds, rounded up: 2 to 6 lb.
    let halves = if answers.bone_in { (n * 3 + 1) / 2 } else { n };
    set("roast_lb", Decimal::new(halves.clamp(4, 12) * 5, 1).normalize().to_string());
    let ground = match n {
        1 | 2 => "1",
        3 => "1.5",
        4..=9 => "2",
        _ => "5",
    };
    set("ground_pkg_lb", ground.to_string());
    set("sausage_pkg_lb", if n < 4 { "1" } else { "2" }.to_string());
}

/// Roasts become lighter until the share can give one; where it cannot, nothing is said of them.
fn lighter_roasts(hanging: &Hanging, sheet: &mut Sheet) -> Result<(), Refused> {
    for halves in (3_i64..=12).rev() {
        let notes = match take_home(hanging, sheet) {
            Err(Refused::Broken(notes)) => notes,
            other => return other.map(drop),
        };
        if notes.iter().any(|n| n.at != "sheet.parameters.roast_lb") {
            return Err(Refused::Broken(notes));
        }
        let now = sheet.parameters.remove("roast_lb").and_then(|text| text.parse::<Decimal>().ok());
        let next = Decimal::new(halves * 5, 1);
        if now.is_some_and(|now| next < now) && halves > 3 {
            sheet.parameters.insert("roast_lb".into(), next.normalize().to_string());
        }
    }
    take_home(hanging, sheet).map(drop)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::share::{Part, Size};
    use crate::trade::weight::Unit;

    fn hog() -> Hanging {
        Hanging {
            species: Species::Hog,
            unit: Unit::Lb,
            weight: Weight::from_hundredths(9_000),
            size: Size::Half,
            part: Part::Split,
            age_months: None,
            head_on: false,
            skin_on: false,
        }
    }

    #[test]
    fn the_answers_shape_the_sheet() {
        let all = |_: &Block, _: &Choice| true;
        let sheet = |kind, bone_in, eaters| sheet_for(&hog(), Answers { kind, bone_in, eaters }, &all).unwrap();
        let ground = sheet(Kind::Ground, true, 2);
        assert_eq!(ground.blocks["ham_body"], "grind");
        assert_eq!(ground.sausage.len(), 1);
        let roasts = sheet(Kind::Roasts, false, 4);
        assert_eq!((roasts.blocks["ham_body"].as_str(), roasts.sausage.len()), ("fresh_boneless", 0));
        let lb = |bone_in, eaters| sheet(Kind::Roasts, bone_in, eaters).parameters["roast_lb"].clone();
        assert_eq!([lb(true, 1), lb(true, 4), lb(true, 5), lb(false, 5)], ["2", "3", "4", "2.5"]);
        assert_eq!(sheet(Kind::Balanced, true, 6).parameters["chops_per_pkg"], "6");
    }

    #[test]
    fn what_the_processor_does_not_do_is_not_chosen() {
        let may = |b: &Block, c: &Choice| !c.cured || b.id == "belly";
        let answers = Answers { kind: Kind::Balanced, bone_in: true, eaters: 4 };
        let sheet = sheet_for(&hog(), answers, &may).unwrap();
        assert_eq!(sheet.blocks["ham_body"], "fresh_bone_in");
        assert_eq!((sheet.blocks["hind_hock"].as_str(), sheet.blocks["belly"].as_str()), ("fresh", "bacon"));
    }
}
