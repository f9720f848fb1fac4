//! What a catalogue must fulfil before anything is reckoned with it. `build.rs` refuses to build when the sums fail.

use super::catalogue::{Block, Catalogue, Choice, Count};
use super::common::Common;
use super::figure::Figure;

/// Every fault of a catalogue, in words; empty if it may be used.
pub fn faults(catalogue: &Catalogue, common: &Common) -> Vec<String> {
    let mut faults = Vec::new();
    sum(&mut faults, "the shares of all blocks", catalogue.blocks.iter().map(|b| b.share));
    for block in &catalogue.blocks {
        if catalogue.blocks.iter().filter(|b| b.id == block.id).count() > 1 {
            faults.push(format!("block {} stands twice", block.id));
        }
        for rule in block.rules.iter().filter(|r| !common.rules.contains_key(*r)) {
            faults.push(format!("block {} names rule {rule}, which there is none of", block.id));
        }
        for choice in &block.choices {
            one_choice(&mut faults, catalogue, block, choice);
        }
        match catalogue.guide.get(&block.id) {
            Some(guide) => faults.extend(guide.faults(block)),
            None => faults.push(format!("block {} has no guide", block.id)),
        }
    }
    for id in catalogue.guide.keys().filter(|id| catalogue.block(id).is_none()) {
        faults.push(format!("the guide names {id}, which is no block"));
    }
    for (id, cut) in &catalogue.cuts {
        let used = catalogue.blocks.iter().flat_map(|b| &b.choices).any(|c| c.cut.contains_key(id));
        if !used {
            faults.push(format!("cut {id} comes from no choice"));
        }
        if common.storage(&cut.keeps).is_none() {
            faults.push(format!("cut {id} keeps like {}, which there is none of", cut.keeps));
        }
        for name in names(&cut.count) {
            if common.parameter(catalogue.species, name).is_none_or(|p| p.default.is_none()) {
                faults.push(format!("cut {id} needs parameter {name} with a default"));
            }
        }
    }
    if catalogue.profile("standard").is_none() {
        faults.push("there is no standard profile".to_string());
    }
    for profile in &catalogue.profiles {
        for block in &catalogue.blocks {
            if profile.blocks.get(&block.id).and_then(|id| block.choice(id)).is_none() {
                faults.push(format!("profile {} has no choice for {}", profile.id, block.id));
            }
        }
        if profile.blocks.len() != catalogue.blocks.len() {
            faults.push(format!("profile {} names a block there is none of", profile.id));
        }
    }
    for key in sources(catalogue).into_iter().filter(|key| common.source(key).is_none()) {
        faults.push(format!("source {key} is not explained"));
    }
    faults
}

fn one_choice(faults: &mut Vec<String>, catalogue: &Catalogue, block: &Block, choice: &Choice) {
    let name = format!("{}.{}", block.id, choice.id);
    let parts = [choice.grind, choice.bone, choice.fat, choice.loss];
    sum(faults, &name, choice.cut.values().copied().chain(parts));
    if choice.grind_fat > choice.grind {
        faults.push(format!("{name} has more fat in the grind than grind"));
    }
    for cut in choice.cut.keys().filter(|cut| !catalogue.cuts.contains_key(*cut)) {
        faults.push(format!("{name} gives {cut}, which is no cut"));
    }
    if block.choices.iter().filter(|c| c.id == choice.id).count() > 1 {
        faults.push(format!("{name} stands twice"));
    }
}

fn sum(faults: &mut Vec<String>, what: &str, figures: impl Iterator<Item = Figure>) {
    let mut total: i64 = 0;
    for figure in figures {
        if !figure.is_hundredths() {
            faults.push(format!("{what}: {figure} has more than two decimals"));
        }
        total = total.saturating_add(figure.ten_thousandths());
    }
    if total != Figure::whole(100).ten_thousandths() {
        faults.push(format!("{what}: {} per cent instead of 100", rust_decimal::Decimal::new(total, 4).normalize()));
    }
}

/// The parameters a count needs.
pub(super) fn names(count: &Count) -> Vec<&str> {
    match count {
        Count::Slice { thickness, pack, .. } | Count::DoubleSlice { thickness, pack, .. } => vec![thickness, pack],
        Count::Piece { pack: Some(pack), .. } | Count::Weight { pack } => vec![pack],
        Count::Roast => vec!["roast_lb"],
        Count::Piece { pack: None, .. } | Count::HalfPiece | Count::Bone | Count::Joined => Vec::new(),
    }
}

/// Every key of a source that the catalogue names.
pub fn sources(catalogue: &Catalogue) -> Vec<&str> {
    let mut keys: Vec<&String> = Vec::new();
    keys.extend(&catalogue.shrink.source);
    keys.extend(&catalogue.trim_lean.source);
    keys.extend(&catalogue.plausible_side_lb.source);
    keys.extend(&catalogue.long_ageing.source);
    for block in &catalogue.blocks {
        keys.extend(&block.source);
        keys.extend(&block.yields.source);
        keys.extend(block.pieces.iter().flat_map(|p| &p.source));
    }
    keys.extend(catalogue.parts.iter().flat_map(|p| &p.source));
    keys.extend(catalogue.profiles.iter().flat_map(|p| &p.source));
    keys.extend(catalogue.cuts.values().flat_map(|c| &c.source));
    keys.extend(catalogue.guide.values().flat_map(|g| &g.source));
    let mut keys: Vec<&str> = keys.into_iter().map(String::as_str).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

#[cfg(test)]
mod tests {
    use super::super::{LAMB, catalogue, common, read};
    use super::*;
    use crate::trade::share::Species;

    #[test]
    fn every_catalogue_is_without_fault() {
        for species in Species::ALL {
            let found = catalogue(*species).unwrap_or_else(|e| panic!("{species}: {e}"));
            assert_eq!(faults(found, common().unwrap()), Vec::<String>::new(), "{species}");
        }
    }

    #[track_caller]
    fn refused(from: &str, to: &str, word: &str) {
        let text = LAMB.replacen(from, to, 1);
        assert_ne!(text, LAMB, "nothing was changed");
        let fault = read(&text, common().unwrap()).expect_err("the catalogue was taken");
        assert!(fault.to_string().contains(word), "{fault}");
    }

    #[test]
    fn what_does_not_add_up_to_100_is_refused() {
        refused("share = \"32.5\"", "share = \"32.4\"", "99.9 per cent instead of 100");
        refused("leg_roast = \"72\"", "leg_roast = \"73\"", "leg.whole_bone_in: 101 per cent instead of 100");
        refused("leg_roast = \"72\"", "leg_roast = \"72.001\"", "more than two decimals");
        refused("leg_roast = \"72\"", "leg_roast = 72", "string");
        refused("leg_roast = \"72\"", "leg_of = \"72\"", "which is no cut");
        refused("leg = \"halves_bone_in\"", "leg = \"halves\"", "has no choice for leg");
        refused("\"S61\"", "\"S99\"", "S99 is not explained");
        refused("id = \"rack\"", "id = \"loin\"", "stands twice");
        refused("riblets = \"Small ribs for the grill or braising.\"\n", "", "breast.riblets has no words");
        refused("\"Most of the ground lamb.\"", "\"\"", "shoulder.grind has no words");
        refused("denver_ribs = \"Trim", "ribs = \"Trim", "words for breast.ribs, which is no choice");
        refused("roasts = [\"whole_bone_in\"", "roasts = [\"ham\"", "answer leg.ham, which is no choice");
        refused("[guide.flank]", "[guide.tail]", "missing field");
        refused("rules = [\"L3\"", "rules = [\"L33\"", "rule L33");
    }
}
