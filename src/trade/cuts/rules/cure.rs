//! Cures and bacon slices need a piece they are for.

use super::{Found, Look};

/// V5: bacon slices without bacon or fresh side.
pub fn bacon(look: &Look<'_>, found: &mut Found) {
    let sliced = look.plan.cuttings.iter().any(|c| c.choice.sliced_thin);
    if look.sheet.parameters.contains_key("bacon_in") && !sliced {
        let why = "Bacon slices are asked for, and there is neither bacon nor fresh side. Choose bacon or fresh side for the \
                   belly, or leave the slices out";
        found.break_all(["V5"], "sheet.parameters.bacon_in", why);
    }
}

/// V16: a cure for a ham that is not cured.
pub fn ham(look: &Look<'_>, found: &mut Found) {
    for block in &look.catalogue.blocks {
        let Some(parameter) = &block.cure_parameter else { continue };
        if look.sheet.parameters.contains_key(parameter) && !look.plan.of(&block.id).any(|c| c.choice.cured) {
            let why = format!(
                "A cure is asked for, and the {} is not cured: it stays fresh or is ground. Choose a cured {}, or leave the cure \
                 out",
                block.name, block.name
            );
            found.break_all(["V16"], &format!("sheet.parameters.{parameter}"), &why);
        }
    }
}
