//! What the share allows: no quarters of lamb and goat, and cuts that need both sides of one animal.

use super::{Found, Look};
use crate::trade::cuts::plan::at;
use crate::trade::share::{Part, Size, Species};

/// V19: a quarter of a lamb or goat; a forequarter or hindquarter of anything but beef.
pub fn quarter(look: &Look<'_>, found: &mut Found) {
    let species = look.hanging.species;
    if look.hanging.size == Size::Quarter && matches!(species, Species::Lamb | Species::Goat) {
        let why = format!("A {} is too small to be cut for quarters. Ask for a half or the whole", species.label());
        found.break_all(["V19"], "share", &why);
    }
    if look.hanging.part != Part::Split && !look.hanging.is_own_quarter() {
        let why = "Only beef is sold as a forequarter or a hindquarter. Choose a half, or a quarter of a split side";
        found.break_all(["V19"], "share", why);
    }
}

/// H9, L2, L5, G1 and V22: crown roasts, double chops and whole carcasses.
pub fn whole_animal(look: &Look<'_>, found: &mut Found) {
    if look.hanging.size == Size::Whole {
        return;
    }
    for cutting in look.plan.cuttings.iter().filter(|c| !c.choice.whole_animal.is_empty()) {
        let why = format!(
            "“{}” needs the {} of both sides of one animal, and this share is a {}. Choose another cut, or take a whole animal",
            cutting.choice.name,
            cutting.block.name,
            look.hanging.share_word()
        );
        found.break_all(cutting.choice.whole_animal.iter().map(String::as_str), &at(look.sheet, cutting.block), &why);
    }
}
