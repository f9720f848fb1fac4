//! What a share gets of each choice of a block, from the forecast with that choice set, or why it cannot be had.

use super::catalogue::{Block, Catalogue, Choice};
use super::common::Common;
use super::said;
use super::settings::Settings;
use super::sheet::{Hanging, Note, Refused, Sheet};
use super::take_home::{TakeHome, take_home};
use super::{BadCatalogue, common};
use crate::trade::weight::Weight;

/// One choice of a block and what comes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gets {
    /// The choice's id.
    pub choice: &'static str,
    /// What this share gets, as a sentence; `None` when the choice cannot be combined with the rest of the sheet.
    pub home: Option<String>,
    /// The rule that stands against it, in a sentence; empty when none does.
    pub why: String,
}

/// What this share gets of each choice of a block, the rest of the sheet as it is.
///
/// # Errors
/// [`Refused::Unknown`] when there is no such block or the sheet names something there is none of.
pub fn gets(hanging: &Hanging, sheet: &Sheet, block: &str) -> Result<Vec<Gets>, Refused> {
    let faulty = |e: &BadCatalogue| Refused::unknown("", e.to_string());
    let (catalogue, common) = (hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
    let known = || catalogue.blocks.iter().map(|b| b.id.as_str());
    let block = catalogue.block(block).ok_or_else(|| Refused::not_one_of("block", block, known()))?;
    let mut tried = Vec::new();
    for choice in &block.choices {
        let with = with(sheet, block, choice);
        match take_home(hanging, &with) {
            Ok(home) => tried.push((choice, Ok(of(catalogue, common, hanging, &with, &home, block, choice)))),
            Err(Refused::Broken(notes)) => tried.push((choice, Err(notes))),
            Err(unknown) => return Err(unknown),
        }
    }
    // What stands against every choice, or against the sheet as it is without naming this block, lies elsewhere and is said there.
    let mut elsewhere = everywhere(tried.iter().map(|(_, t)| t.as_ref().err().map_or(&[][..], Vec::as_slice)));
    if let Err(Refused::Broken(now)) = take_home(hanging, sheet) {
        elsewhere.extend(now.into_iter().filter(|n| !n.at.contains(&format!(".{}", block.id))));
    }
    Ok(tried
        .into_iter()
        .map(|(choice, tried)| match tried {
            Ok(home) => Gets { choice: &choice.id, home: Some(home), why: String::new() },
            Err(notes) => match notes.iter().find(|n| !same(&elsewhere, n)) {
                Some(note) => Gets { choice: &choice.id, home: None, why: format!("{}.", note.why) },
                None => Gets {
                    choice: &choice.id,
                    home: alone(catalogue, common, hanging, sheet, block, choice),
                    why: String::new(),
                },
            },
        })
        .collect())
}

/// The notes that stand in every list.
fn everywhere<'a>(mut lists: impl Iterator<Item = &'a [Note]>) -> Vec<Note> {
    let first = lists.next().unwrap_or_default().to_vec();
    lists.fold(first, |kept, list| kept.into_iter().filter(|n| same(list, n)).collect())
}

fn same(all: &[Note], note: &Note) -> bool {
    all.iter().any(|n| n.rule == note.rule && n.at == note.at)
}

fn with(sheet: &Sheet, block: &Block, choice: &Choice) -> Sheet {
    let mut with = sheet.clone();
    with.partitions.remove(&block.id);
    with.blocks.insert(block.id.clone(), choice.id.clone());
    with
}

/// What a choice gives when the rest of the sheet cannot be reckoned: beside the standard cut.
fn alone(
    catalogue: &'static Catalogue,
    common: &'static Common,
    hanging: &Hanging,
    sheet: &Sheet,
    block: &'static Block,
    choice: &'static Choice,
) -> Option<String> {
    let kept = Sheet { parameters: sheet.parameters.clone(), ..Sheet::default() };
    [kept, Sheet::default()].iter().find_map(|sheet| {
        let with = with(sheet, block, choice);
        let home = take_home(hanging, &with).ok()?;
        Some(of(catalogue, common, hanging, &with, &home, block, choice))
    })
}

/// What comes home of one block, as a sentence.
fn of(
    catalogue: &Catalogue,
    common: &Common,
    hanging: &Hanging,
    sheet: &Sheet,
    home: &TakeHome<'_>,
    block: &Block,
    choice: &Choice,
) -> String {
    let mut lines: Vec<_> = home.lines.iter().filter(|l| l.block == block.id).collect();
    lines.sort_by_key(|l| std::cmp::Reverse(l.weight.expected));
    let mut all: Vec<String> = lines.into_iter().map(|l| said::line(catalogue, l, hanging.unit)).collect();
    // Trim is named where it is most of what the choice gives.
    if choice.cut.is_empty() || choice.grind.hundredths() > 4_000 {
        all.extend(trim(catalogue, common, hanging, sheet, block, choice));
    }
    match all.as_slice() {
        [] => "Nothing comes home of it.".to_string(),
        _ => format!("{}.", super::settings::upper(&said::all(&all))),
    }
}

/// "6–8 lb for ground meat": what a choice adds to it.
fn trim(
    catalogue: &Catalogue,
    common: &Common,
    hanging: &Hanging,
    sheet: &Sheet,
    block: &Block,
    choice: &Choice,
) -> Option<String> {
    let settings = Settings::new(common, hanging.species, sheet).ok()?;
    if settings.word("ground").is_some_and(|word| word != "keep") {
        return None;
    }
    let chilled = 10_000 - catalogue.shrink.expected.hundredths();
    let part = i128::from(block.share.hundredths()) * i128::from(choice.grind.hundredths()) * i128::from(chilled);
    let mut weight = i128::from(hanging.weight.hundredths()) * part / 1_000_000_000_000;
    if let Some(lean) = settings.figure("ground_lean_pct").filter(|f| f.hundredths() > 0) {
        weight = weight * i128::from(catalogue.trim_lean.percent.hundredths()) / i128::from(lean.hundredths());
    }
    let off = weight * i128::from(common.range.ground_percent.hundredths()) / 10_000;
    let to = |n: i128| i64::try_from(n).ok().map(Weight::from_hundredths);
    let (low, high) = (to(weight - off)?, to(weight + off)?);
    (weight > 0).then(|| format!("{} for ground meat", said::range(low, high, hanging.unit)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::share::{Part, Size, Species};
    use crate::trade::weight::Unit;

    fn hanging(species: Species, size: Size, hundredths: i64) -> Hanging {
        let weight = Weight::from_hundredths(hundredths);
        Hanging {
            species,
            unit: Unit::Lb,
            weight,
            size,
            part: Part::Split,
            age_months: Some(20),
            head_on: false,
            skin_on: false,
        }
    }

    fn of(hanging: &Hanging, sheet: &Sheet, block: &str, choice: &str) -> Gets {
        gets(hanging, sheet, block).unwrap().into_iter().find(|g| g.choice == choice).unwrap()
    }

    #[test]
    fn each_choice_says_what_this_share_gets() {
        let hog = hanging(Species::Hog, Size::Half, 9_000);
        let home = |block, choice| of(&hog, &Sheet::default(), block, choice).home.unwrap();
        assert_eq!(home("loin_centre", "chops_bone_in"), "About 20 bone-in loin chops in 5 packs, 6.5–8 lb.");
        assert_eq!(home("belly", "bacon"), "8–10 lb of bacon in 9 packs.");
        assert_eq!(home("butt", "grind"), "5.8–7.8 lb for ground meat.");
        assert_eq!(home("backfat", "into_sausage"), "4.7–6.4 lb for ground meat.");
        let beef = hanging(Species::Beef, Size::Quarter, 18_000);
        assert_eq!(
            of(&beef, &Sheet::default(), "short_loin", "strip_boneless_tenderloin").home.unwrap(),
            "About 7 strip steaks in 4 packs, 4–4.9 lb; ½ tenderloin, 1.9–2.3 lb."
        );
    }

    #[test]
    fn what_cannot_be_combined_says_why_and_what_is_wrong_elsewhere_does_not_count() {
        let hog = hanging(Species::Hog, Size::Half, 9_000);
        let crown = of(&hog, &Sheet::default(), "loin_centre", "crown_roast");
        assert!(crown.home.is_none() && crown.why.contains("both sides of one animal"), "{crown:?}");
        let mut sheet =
            Sheet { parameters: [("bacon_in".to_string(), "thick".to_string())].into(), ..Sheet::default() };
        let grind = of(&hog, &sheet, "belly", "grind");
        assert!(grind.home.is_none() && grind.why.contains("Bacon slices are asked for"), "{grind:?}");
        assert!(of(&hog, &sheet, "butt", "grind").home.is_some());
        // Now the sheet is broken at the belly; the butt can still be chosen.
        sheet.blocks.insert("belly".into(), "grind".into());
        let butt = of(&hog, &sheet, "butt", "steak_bone_in");
        assert_eq!(butt.why, "");
        assert_eq!(butt.home.unwrap_or_default(), "About 8 blade steaks in 2 packs, 6–7.3 lb.");
    }
}
