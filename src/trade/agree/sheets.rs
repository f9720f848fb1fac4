//! The agreed cutting written as sheets: one of the side, and one for each quarter.

use super::parts::PartDeal;
use super::two::{Two, Who};
use super::{Cutting, Side, wish};
use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::sheet::{Sheet, Slice};

/// Whoever takes part in the deals of parts: the two quarters are its first two places.
const fn place(who: Who) -> usize {
    match who {
        Who::First => 0,
        Who::Second => 1,
    }
}

/// The sheet of the side and those of the quarters.
pub fn written(
    catalogue: &Catalogue,
    side: &Side<'_>,
    cuttings: &[(String, Cutting)],
    values: &[(String, Option<String>)],
    parts: &[PartDeal],
) -> (Sheet, Two<Sheet>) {
    let own = Two::new(Who::First, Who::Second).map(|who| of_quarter(catalogue, side, cuttings, values, parts, who));
    let mut whole = Sheet::default();
    for (id, cutting) in cuttings {
        let Some(block) = catalogue.block(id) else { continue };
        match cutting {
            Cutting::Side(slices) => put(&mut whole, block, slices),
            Cutting::Own(own) => {
                // The earlier deposit first, so that the order of the two does not count.
                let (its, other) = (own.of(side.earlier()), own.of(side.earlier().other()));
                put(&mut whole, block, &its.iter().chain(other).cloned().collect::<Vec<_>>());
            }
        }
    }
    let given = values.iter().filter_map(|(id, value)| Some((id.clone(), value.clone()?)));
    whole.parameters.extend(given);
    let discards = |sheet: &Sheet| sheet.parameters.get("ground").is_some_and(|word| word == "discard_trim");
    if own.each().into_iter().all(discards) {
        whole.parameters.insert("ground".into(), "discard_trim".into());
    }
    whole.sausage = own.each().into_iter().flat_map(|s| s.sausage.clone()).collect();
    let asked = |part: &&PartDeal| part.gets.iter().any(|i| *i < 2);
    whole.parts = parts.iter().filter(asked).map(|p| p.part.clone()).collect();
    (whole, own)
}

fn of_quarter(
    catalogue: &Catalogue,
    side: &Side<'_>,
    cuttings: &[(String, Cutting)],
    values: &[(String, Option<String>)],
    parts: &[PartDeal],
    who: Who,
) -> Sheet {
    let mut sheet = side.quarters.of(who).sheet.cloned().unwrap_or_default();
    sheet.blocks.clear();
    sheet.partitions.clear();
    for (id, cutting) in cuttings {
        let Some(block) = catalogue.block(id) else { continue };
        match cutting {
            Cutting::Side(slices) => put(&mut sheet, block, slices),
            // As of a whole block: a quarter’s sheet speaks of its own part.
            Cutting::Own(own) => put(&mut sheet, block, &wish::fitted(block, own.of(who), block.count())),
        }
    }
    for (id, value) in values {
        match value {
            Some(value) => drop(sheet.parameters.insert(id.clone(), value.clone())),
            None => drop(sheet.parameters.remove(id)),
        }
    }
    sheet.parts = parts.iter().filter(|p| p.gets.contains(&place(who))).map(|p| p.part.clone()).collect();
    sheet
}

fn put(sheet: &mut Sheet, block: &Block, slices: &[Slice]) {
    match slices {
        [] => {}
        [one] => drop(sheet.blocks.insert(block.id.clone(), one.choice.clone())),
        several if several.iter().all(|s| Some(&s.choice) == several.first().map(|f| &f.choice)) => {
            if let Some(first) = several.first() {
                sheet.blocks.insert(block.id.clone(), first.choice.clone());
            }
        }
        several => drop(sheet.partitions.insert(block.id.clone(), several.to_vec())),
    }
}
