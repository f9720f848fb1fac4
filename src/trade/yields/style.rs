//! How a share is cut, as far as it tells how much comes home: whether bones go along, and whether most of it is ground.
//!
//! Read off the forecast of its sheet: “boneless” is a sheet that leaves more bone at the plant than the standard cut does, by two
//! points of the hanging weight or more (the catalogue's boneless sheets leave 3 to 24 points more); “mostly ground” is one of which
//! half or more of what comes home is ground meat and sausage. Both lines are ours, without a source.

use crate::trade::cuts::sheet::{Hanging, Sheet};
use crate::trade::cuts::take_home::{TakeHome, take_home};
use crate::trade::weight::Weight;

crate::words! {
    /// How a share is cut.
    pub enum Style {
        /// Bones as in the standard cut or more, steaks, chops and roasts.
        BoneIn = "bone_in", "bone-in";
        /// Bones left at the plant.
        Boneless = "boneless", "boneless";
        /// At least half of it ground meat and sausage, bones as in the standard cut.
        Ground = "ground", "bone-in, mostly ground";
        /// At least half of it ground meat and sausage, without bones.
        BonelessGround = "boneless_ground", "boneless, mostly ground";
    }
}

/// From how much more bone left out than by the standard cut a sheet is boneless, in hundredths of a per cent of the hanging weight.
const BONELESS: i64 = 200;

/// Bone left out, in hundredths of a per cent of the hanging weight.
fn bone_left(home: &TakeHome<'_>, hanging: Weight) -> i64 {
    home.bone.hundredths().saturating_mul(10_000).checked_div(hanging.hundredths()).unwrap_or(0)
}

/// Bone that the standard cut of such a share leaves out, in hundredths of a per cent; the same for every weight, so it may be
/// kept. `None` when the catalogue has no standard cut for it, which its own check keeps from happening.
pub fn standard_bone(hanging: &Hanging) -> Option<i64> {
    // Young, so that it is the cut with the backbone; as heavy as rounding does not matter.
    let plain = Hanging {
        weight: Weight::from_hundredths(100_000),
        age_months: None,
        head_on: false,
        skin_on: false,
        ..*hanging
    };
    take_home(&plain, &Sheet::default()).ok().map(|home| bone_left(&home, plain.weight))
}

/// The style of a sheet by what comes home of it.
pub fn style(home: &TakeHome<'_>, hanging: &Hanging, standard_bone: i64) -> Style {
    let is_boneless = bone_left(home, hanging.weight) >= standard_bone.saturating_add(BONELESS);
    let sausage = home.sausage.iter().fold(0_i64, |sum, s| sum.saturating_add(s.weight.expected.hundredths()));
    let ground = home.ground.expected.hundredths().saturating_add(sausage);
    let is_ground =
        !home.packaged.expected.is_zero() && ground.saturating_mul(2) >= home.packaged.expected.hundredths();
    match (is_boneless, is_ground) {
        (false, false) => Style::BoneIn,
        (true, false) => Style::Boneless,
        (false, true) => Style::Ground,
        (true, true) => Style::BonelessGround,
    }
}
