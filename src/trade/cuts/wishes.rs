//! Wishes of a sheet that need weights: roasts, patties, sausages, parts.

use super::catalogue::{Catalogue, Count};
use super::common::Common;
use super::pieces::{Quarters, by_weight};
use super::settings::Settings;
use super::sheet::{Hanging, Note, Refused, Sheet};
use super::take_home::{Line, pounds};
use crate::trade::split::by_largest_remainder;
use crate::trade::weight::Weight;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// Refuses seasonings, forms and parts there are none of, and a sausage that weighs nothing.
///
/// # Errors
/// [`Refused::Unknown`] with what is offered.
pub fn known(catalogue: &Catalogue, common: &Common, sheet: &Sheet) -> Result<(), Refused> {
    for (i, sausage) in sheet.sausage.iter().enumerate() {
        let at = |field: &str| format!("sheet.sausage[{i}].{field}");
        for (field, word, names) in
            [("seasoning", &sausage.seasoning, &common.seasonings), ("form", &sausage.form, &common.forms)]
        {
            if !names.iter().any(|n| n.id == *word) {
                return Err(Refused::not_one_of(at(field), word, names.iter().map(|n| n.id.as_str())));
            }
        }
        if sausage.weight.is_zero() {
            return Err(Refused::unknown(
                at("weight"),
                "This sausage weighs nothing. Give a weight above 0, or leave it out",
            ));
        }
    }
    for (i, id) in sheet.parts.iter().enumerate() {
        if catalogue.part(id).is_some() {
            continue;
        }
        let at = format!("sheet.parts[{i}]");
        let holds = |b: &&super::catalogue::Block| b.choices.iter().any(|c| c.cut.contains_key(id));
        if let Some(block) = catalogue.blocks.iter().find(holds) {
            let why = format!("“{id}” hangs with the side. It is kept by a choice of the block {}", block.id);
            return Err(Refused::unknown(at, why));
        }
        return Err(Refused::not_one_of(at, id, catalogue.parts.iter().map(|p| p.id.as_str())));
    }
    Ok(())
}

/// V6: heavier or more roasts than there is meat for. Puts the number of chuck roasts asked for into their lines.
pub fn roasts(
    catalogue: &Catalogue,
    hanging: &Hanging,
    sheet: &Sheet,
    settings: &Settings<'_>,
    lines: &mut [Line<'_>],
) -> Vec<Note> {
    let mut notes = Vec::new();
    let Some(size) = settings.figure("roast_lb") else { return notes };
    let counted = |line: &Line<'_>| catalogue.cuts.get(line.cut).is_some_and(|c| c.count == Count::Roast);
    let lb = |line: &Line<'_>| pounds(hanging.unit, line.weight.expected.decimal());
    let sides = Decimal::from((hanging.counted() / 2).max(1));
    let heaviest = lines.iter().filter(|l| counted(l)).map(lb).max().and_then(|lb| lb.checked_div(sides));
    if sheet.parameters.contains_key("roast_lb") && heaviest.is_some_and(|most| most < size.decimal()) {
        let most = heaviest.unwrap_or_default().round_dp(1).normalize();
        let why = format!(
            "Roasts of {size} lb are asked for, and the heaviest this share can give weighs about {most} lb. Ask for lighter roasts"
        );
        notes.push(Note::new("V6", "sheet.parameters.roast_lb", why));
    }
    let Some(wanted) = settings.whole("chuck_roasts") else { return notes };
    let chuck = |line: &Line<'_>| counted(line) && catalogue.block(line.block).is_some_and(|b| b.primal == "chuck");
    let together: Decimal = lines.iter().filter(|l| chuck(l)).map(lb).sum();
    let most = together.checked_div(size.decimal()).map_or(0, |n| n.floor().to_i64().unwrap_or(0));
    if wanted > most {
        let why = format!(
            "{wanted} chuck roasts of {size} lb are asked for, and the chuck of this share gives about {} lb of them: at most \
             {most}. Ask for fewer or lighter ones, or choose roasts for more of the chuck",
            together.round_dp(1).normalize()
        );
        notes.push(Note::new("V6", "sheet.parameters.chuck_roasts", why));
        return notes;
    }
    let weights: Vec<i64> = lines.iter().filter(|l| chuck(l)).map(|l| l.weight.expected.hundredths()).collect();
    for (line, n) in
        lines.iter_mut().filter(|l| chuck(l)).zip(by_largest_remainder(wanted, &weights).unwrap_or_default())
    {
        (line.pieces, line.packages) = (Some(Quarters::whole(n)), n);
    }
    notes
}

/// Packs of ground meat: patties if they are asked for, else by weight.
pub fn ground_packs(settings: &Settings<'_>, lb: Decimal) -> i64 {
    let Some(patties) = settings.whole("patties_per_lb") else {
        return by_weight(lb, settings.figure("ground_pkg_lb"));
    };
    let patties = lb.checked_mul(Decimal::from(patties)).and_then(|n| n.floor().to_i64()).unwrap_or(0);
    Quarters::whole(patties).packs(settings.whole("patties_per_pkg").unwrap_or(1))
}

/// What this share of the parts asked for weighs: their per cent of each quarter's hanging weight.
pub fn parts<'a>(catalogue: &'a Catalogue, sheet: &Sheet, quarters: &[i64]) -> Vec<(&'a str, Weight)> {
    let weight = |percent: i64| quarters.iter().map(|w| (w.saturating_mul(percent) + 5_000) / 10_000).sum();
    let parts = sheet.parts.iter().filter_map(|id| catalogue.part(id));
    parts.map(|p| (p.id.as_str(), Weight::from_hundredths(weight(p.percent.hundredths())))).collect()
}
