//! Settling two sheets of one side, block by block.

use super::parts::{self, Claim};
use super::two::{Two, Who};
use super::{Cutting, Decision, Item, Settled, Settlement, Side, halves, shared, sheets, wish};
use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::plan::Plan;
use crate::trade::cuts::settings::Settings;
use crate::trade::cuts::sheet::{Refused, Slice, listed};

/// Blocks that are settled together, and what the two quarters wish of each.
struct Unit<'a> {
    blocks: Vec<&'a Block>,
    wishes: Two<Vec<Option<Vec<Slice>>>>,
}

/// Settles two sheets of one side.
///
/// # Errors
/// [`Refused::Unknown`] when a sheet names a block, choice or parameter there is none of.
pub fn settle(side: &Side<'_>) -> Result<Settlement, Refused> {
    let species = side.hanging.species;
    let (catalogue, common) = (halves::catalogue(species)?, halves::common()?);
    for sheet in side.quarters.each().into_iter().filter_map(|q| q.sheet) {
        Plan::new(catalogue, &side.hanging, sheet)?;
        Settings::new(common, species, sheet)?;
    }
    let (mut items, mut cuttings) = (Vec::new(), Vec::new());
    for unit in units(catalogue, side) {
        let (item, cut) = one(catalogue, side, &unit);
        cuttings.extend(unit.blocks.iter().map(|b| b.id.clone()).zip(cut));
        items.push(item);
    }
    let order = |id: &String| catalogue.blocks.iter().position(|b| b.id == *id);
    cuttings.sort_by_key(|(id, _)| order(id));
    let (along, values) = shared::settle(catalogue, common, side, &cuttings);
    items.extend(along);
    let none: &[String] = &[];
    let mut claims: Vec<Claim<'_>> = side
        .quarters
        .each()
        .into_iter()
        .map(|q| Claim { parts: q.sheet.map_or(none, |s| &s.parts), turn: q.turn })
        .collect();
    claims.extend(side.others);
    let parts = parts::dealt(catalogue, &claims);
    let (whole, own) = sheets::written(catalogue, side, &cuttings, &values, &parts);
    Ok(Settlement { items, cuttings, side: whole, sheets: own, parts })
}

/// The blocks one by one; those that a choice takes together (a whole boneless loin, full-cut round steaks) as one.
fn units<'a>(catalogue: &'a Catalogue, side: &Side<'_>) -> Vec<Unit<'a>> {
    let wish = |who: Who, block: &Block| wish::of(block, side.quarters.of(who).sheet);
    let rule_of = |block: &'a Block| {
        let chosen = Who::BOTH.into_iter().filter_map(|who| wish(who, block)).flatten();
        chosen.into_iter().find_map(|s| block.choice(&s.choice)?.together.as_deref())
    };
    let mut done: Vec<&str> = Vec::new();
    let mut units = Vec::new();
    for block in &catalogue.blocks {
        if done.contains(&block.id.as_str()) {
            continue;
        }
        let offers = |b: &&Block, rule: &str| b.choices.iter().any(|c| c.together.as_deref() == Some(rule));
        // Somebody may have said so of a later block only.
        let rule = catalogue.blocks.iter().filter_map(&rule_of).find(|rule| offers(&block, rule));
        let blocks: Vec<&Block> = match rule {
            Some(rule) => catalogue.blocks.iter().filter(|b| offers(b, rule)).collect(),
            None => vec![block],
        };
        done.extend(blocks.iter().map(|b| b.id.as_str()));
        let of = |who| blocks.iter().map(|b| wish(who, b)).collect();
        units.push(Unit { wishes: Two::new(of(Who::First), of(Who::Second)), blocks });
    }
    units
}

fn one(catalogue: &Catalogue, side: &Side<'_>, unit: &Unit<'_>) -> (Item, Vec<Cutting>) {
    let parts: Vec<&str> =
        side.quarters.each().into_iter().filter_map(|q| q.sheet).flat_map(|s| &s.parts).map(String::as_str).collect();
    let standard: Vec<Vec<Slice>> =
        unit.blocks.iter().map(|b| wish::standard(catalogue, b, &parts, side.hanging.from_30_months())).collect();
    let said = |who: Who| unit.wishes.of(who).iter().any(Option::is_some);
    let full = |who: Who| -> Vec<Vec<Slice>> {
        unit.wishes.of(who).iter().zip(&standard).map(|(w, s)| w.clone().unwrap_or_else(|| s.clone())).collect()
    };
    let own = divided(catalogue, side, unit, &full);
    let id = unit.blocks.first().map_or_else(String::new, |b| b.id.clone());
    let mut may = Vec::new();
    let settled = match (said(Who::First), said(Who::Second)) {
        (false, false) => Settled::Unsaid,
        (true, false) => Settled::Follows(Who::First),
        (false, true) => Settled::Follows(Who::Second),
        (true, true) if full(Who::First) == full(Who::Second) => Settled::Same,
        (true, true) => {
            may = vec![Decision::First, Decision::Second];
            may.extend(own.is_some().then_some(Decision::Pieces));
            may.push(Decision::Standard);
            match side.decided.get(&id).filter(|d| may.contains(d)) {
                Some(decision) => Settled::Decided(*decision),
                None if own.is_some() => Settled::Pieces,
                None => Settled::Open,
            }
        }
    };
    let whole = |all: Vec<Vec<Slice>>| all.into_iter().map(Cutting::Side).collect::<Vec<_>>();
    let cut: Vec<Cutting> = match (settled, &own) {
        (Settled::Pieces | Settled::Decided(Decision::Pieces), Some(own)) => vec![Cutting::Own(own.clone())],
        (Settled::Follows(who), _) => whole(full(who)),
        (Settled::Same | Settled::Decided(Decision::First), _) => whole(full(Who::First)),
        (Settled::Decided(Decision::Second), _) => whole(full(Who::Second)),
        _ => whole(standard.clone()),
    };
    let names: Vec<&str> = unit.blocks.iter().map(|b| b.name.as_str()).collect();
    let name = listed(&names, "and");
    let item = Item {
        wishes: Two::new(Who::First, Who::Second).map(|who| said(who).then(|| all_words(&unit.blocks, &full(who)))),
        takes: match cut.as_slice() {
            [Cutting::Own(own)] => unit.blocks.first().map_or_else(String::new, |b| own_words(b, own)),
            _ => all_words(&unit.blocks, &cut.iter().map(of_side).collect::<Vec<_>>()),
        },
        standard: all_words(&unit.blocks, &standard),
        why: why(settled, &name, unit),
        id,
        name,
        settled,
        may,
    };
    (item, cut)
}

fn of_side(cut: &Cutting) -> Vec<Slice> {
    match cut {
        Cutting::Side(slices) => slices.clone(),
        Cutting::Own(own) => own.each().into_iter().flatten().cloned().collect(),
    }
}

/// Each quarter's own wish on its own part of the block, if that can be; an odd piece goes to the earlier deposit.
fn divided(
    catalogue: &Catalogue,
    side: &Side<'_>,
    unit: &Unit<'_>,
    full: &impl Fn(Who) -> Vec<Vec<Slice>>,
) -> Option<Two<Vec<Slice>>> {
    let [block] = unit.blocks.as_slice() else { return None };
    let (first, second) = (full(Who::First).pop()?, full(Who::Second).pop()?);
    if !halves::is_divisible(catalogue, block, [&first, &second]) {
        return None;
    }
    let fewer = block.count() / 2;
    let n = Two::from(side.earlier(), block.count() - fewer, fewer);
    Some(Two::new(wish::fitted(block, &first, n.first), wish::fitted(block, &second, n.second)))
}

fn own_words(block: &Block, own: &Two<Vec<Slice>>) -> String {
    let [first, second] = own.each().map(|slices| wish::words(block, slices));
    format!("{first}; {second}")
}

fn all_words(blocks: &[&Block], all: &[Vec<Slice>]) -> String {
    match (blocks, all) {
        ([block], [slices]) => wish::words(block, slices),
        _ => {
            let words: Vec<(&str, String)> =
                blocks.iter().zip(all).map(|(b, s)| (b.name.as_str(), wish::words(b, s))).collect();
            match words.split_first() {
                Some(((_, same), rest)) if rest.iter().all(|(_, w)| w == same) => same.clone(),
                _ => words.iter().map(|(b, w)| format!("{b}: {w}")).collect::<Vec<_>>().join("; "),
            }
        }
    }
}

fn why(settled: Settled, name: &str, unit: &Unit<'_>) -> String {
    match settled {
        Settled::Unsaid => "Neither quarter has said anything here, so it is the standard cut.".into(),
        Settled::Same => "Both quarters wish the same.".into(),
        Settled::Follows(_) => "Only one quarter has said anything here, and the whole side follows it.".into(),
        Settled::Pieces => {
            let by = unit.blocks.first().and_then(|b| b.pieces.as_ref()).filter(|p| p.number > 2);
            match by {
                Some(p) => format!(
                    "The wishes differ, and the {name} is given out by its {} {}s: each quarter its own wish on its own part.",
                    p.number, p.name
                ),
                None => format!(
                    "The wishes differ, and the {name} can be divided: each quarter its own wish on its own half."
                ),
            }
        }
        Settled::Open => format!(
            "The wishes differ, and the {name} {} cut in one way for the whole side. Until the farm decides, it is the standard cut.",
            if unit.blocks.len() > 1 { "are" } else { "is" }
        ),
        Settled::Decided(Decision::First | Decision::Second) => {
            "The wishes differ, and the farm decided for one of them.".into()
        }
        Settled::Decided(Decision::Pieces) => {
            "The wishes differ, and the farm decided that each quarter has its own wish on its own part.".into()
        }
        Settled::Decided(Decision::Standard) => "The wishes differ, and the farm decided for the standard cut.".into(),
    }
}
