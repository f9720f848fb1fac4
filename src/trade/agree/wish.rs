//! What a sheet wishes for a block, and wishes in words.

use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::sheet::{Sheet, Slice};

/// What a sheet says of a block, one slice for each choice, in a fixed order; nothing when it leaves it open.
pub fn of(block: &Block, sheet: Option<&Sheet>) -> Option<Vec<Slice>> {
    let sheet = sheet?;
    let whole = |choice: &str| vec![Slice { choice: choice.to_string(), pieces: block.count() }];
    let part = |wanted: &String| sheet.parts.contains(wanted);
    let said = match (sheet.partitions.get(&block.id), sheet.blocks.get(&block.id)) {
        (Some(slices), _) => slices.clone(),
        (None, Some(choice)) => whole(choice),
        // Whoever asks for a head kept whole asks for what stays on it.
        (None, None) => whole(&block.choices.iter().find(|c| c.with_part.as_ref().is_some_and(part))?.id),
    };
    Some(gathered(said))
}

/// One slice for each choice, in a fixed order.
fn gathered(slices: Vec<Slice>) -> Vec<Slice> {
    let mut all: Vec<Slice> = Vec::new();
    for slice in slices.into_iter().filter(|s| s.pieces > 0) {
        match all.iter_mut().find(|s| s.choice == slice.choice) {
            Some(same) => same.pieces = same.pieces.saturating_add(slice.pieces),
            None => all.push(slice),
        }
    }
    all.sort_by(|a, b| a.choice.cmp(&b.choice));
    all
}

/// The standard cut of a block.
pub fn standard(catalogue: &Catalogue, block: &Block, parts: &[&str], from_30_months: bool) -> Vec<Slice> {
    let with = block.choices.iter().find(|c| c.with_part.as_deref().is_some_and(|p| parts.contains(&p)));
    let choice = with.or_else(|| catalogue.standard(block, from_30_months));
    choice.map(|c| Slice { choice: c.id.clone(), pieces: block.count() }).into_iter().collect()
}

/// A wish fitted to so many pieces of the block: in proportion, in whole pieces, and no roast of too few.
pub fn fitted(block: &Block, wish: &[Slice], pieces: u32) -> Vec<Slice> {
    if let [one] = wish {
        return vec![Slice { choice: one.choice.clone(), pieces }];
    }
    let parts: Vec<i64> = wish.iter().map(|s| i64::from(s.pieces)).collect();
    let dealt = crate::trade::split::by_largest_remainder(i64::from(pieces), &parts).unwrap_or_default();
    let mut all: Vec<Slice> = wish
        .iter()
        .zip(dealt)
        .map(|(s, n)| Slice { choice: s.choice.clone(), pieces: u32::try_from(n).unwrap_or(0) })
        .collect();
    let least = block.pieces.as_ref().map_or(1, |p| p.shortest_roast);
    let short = |s: &Slice| block.choice(&s.choice).is_some_and(|c| c.roast) && s.pieces < least;
    let over: u32 = all.iter().filter(|s| short(s)).map(|s| s.pieces).sum();
    let kept: Vec<Slice> = all.iter().filter(|s| !short(s)).cloned().collect();
    if !kept.is_empty() {
        all = kept;
        if let Some(most) = all.iter_mut().max_by_key(|s| s.pieces) {
            most.pieces = most.pieces.saturating_add(over);
        }
    } else if let Some(first) = all.first().cloned() {
        all = vec![Slice { pieces, ..first }];
    }
    gathered(all)
}

/// "bone-in rib steaks", or "3 ribs as bone-in rib roast and 4 ribs as bone-in rib steaks".
pub fn words(block: &Block, slices: &[Slice]) -> String {
    let name = |s: &Slice| block.choice(&s.choice).map_or_else(|| s.choice.clone(), |c| c.name.clone());
    match slices {
        [one] if one.pieces >= block.count() => name(one),
        all => {
            let each: Vec<String> = all.iter().map(|s| format!("{} as {}", pieces(block, s.pieces), name(s))).collect();
            let each: Vec<&str> = each.iter().map(String::as_str).collect();
            crate::trade::cuts::sheet::listed(&each, "and")
        }
    }
}

/// "4 ribs", "one half".
pub fn pieces(block: &Block, n: u32) -> String {
    match (&block.pieces, n) {
        (Some(p), 1) if p.name == "half" => "one half".into(),
        (Some(p), 1) => format!("1 {}", p.name),
        (Some(p), n) => format!("{n} {}s", p.name),
        (None, n) => n.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::halves;
    use super::*;
    use crate::trade::share::Species;

    fn slice(choice: &str, pieces: u32) -> Slice {
        Slice { choice: choice.into(), pieces }
    }

    #[test]
    fn a_wish_is_fitted_to_fewer_ribs_without_a_roast_of_one() {
        let rib = halves::catalogue(Species::Beef).unwrap().block("rib").unwrap();
        let wish = [slice("rib_roast_bone_in", 3), slice("rib_steak_bone_in", 4)];
        assert_eq!(fitted(rib, &wish, 4), [slice("rib_roast_bone_in", 2), slice("rib_steak_bone_in", 2)]);
        assert_eq!(fitted(rib, &wish, 3), [slice("rib_steak_bone_in", 3)], "1 rib is no roast");
        assert_eq!(fitted(rib, &wish[..1], 4), [slice("rib_roast_bone_in", 4)]);
        assert_eq!(words(rib, &wish), "3 ribs as bone-in rib roast and 4 ribs as bone-in rib steaks");
        assert_eq!(words(rib, &[slice("rib_steak_bone_in", 7)]), "bone-in rib steaks");
    }

    #[test]
    fn what_is_left_open_is_no_wish_and_a_head_keeps_its_jowls() {
        let jowl = halves::catalogue(Species::Hog).unwrap().block("jowl").unwrap();
        assert_eq!(of(jowl, None), None);
        assert_eq!(of(jowl, Some(&Sheet::default())), None);
        let head = Sheet { parts: vec!["head".into()], ..Sheet::default() };
        assert_eq!(of(jowl, Some(&head)), Some(vec![slice("with_head", 2)]));
    }
}
