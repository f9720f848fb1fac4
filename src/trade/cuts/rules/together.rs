//! Choices that lie across blocks: full-cut round, whole boneless loin, whole carcass; and the tenderloin under the sirloin.

use super::{Found, Look};
use crate::trade::cuts::plan::at;
use crate::trade::cuts::sheet::listed;

/// B7, H3, G1: all blocks that offer such a choice take it, or none does.
pub fn together(look: &Look<'_>, found: &mut Found) {
    let mut seen: Vec<&str> = Vec::new();
    for cutting in &look.plan.cuttings {
        let Some(rule) = cutting.choice.together.as_deref() else { continue };
        if seen.contains(&rule) {
            continue;
        }
        seen.push(rule);
        let is = |c: &crate::trade::cuts::catalogue::Choice| c.together.as_deref() == Some(rule);
        let blocks = look.catalogue.blocks.iter().filter(|b| b.choices.iter().any(is));
        let names: Vec<&str> = blocks.map(|b| b.name.as_str()).collect();
        let missing: Vec<&str> = look
            .catalogue
            .blocks
            .iter()
            .filter(|b| b.choices.iter().any(is))
            .filter(|b| !look.plan.of(&b.id).all(|c| is(c.choice)))
            .map(|b| b.name.as_str())
            .collect();
        if !missing.is_empty() {
            let why = format!(
                "“{}” uses up these together: {}. Choose it for {} too, or for none of them",
                cutting.choice.name,
                listed(&names, "and"),
                listed(&missing, "and")
            );
            found.break_all([rule], &at(look.sheet, cutting.block), &why);
        }
    }
}

/// B2: bone-in sirloin steaks keep the butt end of the tenderloin.
pub fn tenderloin(look: &Look<'_>, found: &mut Found) {
    let gives = |block: &str, cut: &str| look.plan.of(block).any(|c| c.choice.cut.contains_key(cut));
    if gives("short_loin", "tenderloin") && gives("sirloin", "sirloin_steak_bone_in") {
        let why = "Bone-in sirloin steaks keep the thick end of the tenderloin, so only about 80 per cent of it comes home by \
                   itself. For a whole tenderloin choose a boneless sirloin";
        found.caution("B2", "sheet.blocks.sirloin", why);
    }
}
