//! What the animal allows: its age, its skin, its weight, its days of hanging.

use super::{Found, Look};
use crate::trade::cuts::plan::at;
use crate::trade::cuts::sheet::{Hanging, listed};
use crate::trade::cuts::take_home::pounds;
use crate::trade::share::Species;
use rust_decimal::Decimal;

/// B12, V12, V13: backbone of cattle, specified risk material from 30 months on (9 CFR 310.22).
pub fn backbone(look: &Look<'_>, found: &mut Found) {
    if look.hanging.species != Species::Beef {
        return;
    }
    let mut unsure = Vec::new();
    for cutting in look.plan.cuttings.iter().filter(|c| c.choice.backbone) {
        if look.hanging.from_30_months() {
            let others = cutting.block.choices.iter().filter(|c| !c.backbone).map(|c| c.name.as_str());
            let why = format!(
                "“{}” holds backbone, and from cattle of {} months or more the backbone is specified risk material that the \
                 plant must take out (9 CFR 310.22). Of the {} choose {}",
                cutting.choice.name,
                Hanging::OLD,
                cutting.block.name,
                listed(&others.collect::<Vec<_>>(), "or")
            );
            found.break_all(["B12", "V12"], &at(look.sheet, cutting.block), &why);
        } else if look.hanging.age_months.is_none() {
            unsure.push(cutting.choice.name.as_str());
        }
    }
    if !unsure.is_empty() {
        let why = format!(
            "The animal’s age is not known. If the plant finds it to be {} months or more, it takes the backbone out (9 CFR \
             310.22), and these turn boneless: {}",
            Hanging::OLD,
            listed(&unsure, "and")
        );
        found.caution("V13", "age_months", why);
    }
}

/// H10, V14: cuts with skin need a scalded hog.
pub fn skin(look: &Look<'_>, found: &mut Found) {
    if look.hanging.skin_on {
        return;
    }
    for cutting in look.plan.cuttings.iter().filter(|c| c.choice.skin_on) {
        let why = format!(
            "“{}” needs a hog that was scalded, and this one is skinned. Choose another cut for the {}, or have the hog scalded",
            cutting.choice.name, cutting.block.name
        );
        found.break_all(["H10", "V14"], &at(look.sheet, cutting.block), &why);
    }
}

/// V24: an unusual hanging weight.
pub fn weight(look: &Look<'_>, found: &mut Found) {
    let sides = Decimal::from(look.hanging.counted()) / Decimal::TWO;
    let side = pounds(look.hanging.unit, look.hanging.weight.decimal()).checked_div(sides).unwrap_or_default();
    let usual = &look.catalogue.plausible_side_lb;
    if side < usual.low.decimal() || side > usual.high.decimal() {
        let why = format!(
            "A {} of {} lb is unusual for {}: {} to {} lb is usual. Look at the weight, the unit and the share again",
            if look.hanging.is_own_quarter() { look.hanging.share_word() } else { "side" },
            side.round_dp(1).normalize(),
            look.hanging.species.label(),
            usual.low,
            usual.high
        );
        found.caution("V24", "hanging_weight", why);
    }
}

/// V17: long ageing.
pub fn ageing(look: &Look<'_>, found: &mut Found) {
    let long = &look.catalogue.long_ageing;
    if look.settings.figure("ageing_days").is_some_and(|days| days > long.days) {
        found.caution("V17", "sheet.parameters.ageing_days", &long.why);
    }
}
