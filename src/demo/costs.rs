//! What the animals of the demo's first date cost: one by one, as a lot shared evenly and one by hanging weight, and a slip of the pen.

use super::teller::{Teller, usd};
use crate::actions::Failure;
use crate::actions::enter_cost::{CostIn, change_cost, enter_cost, take_back_cost};
use crate::book::ids::{AnimalId, CostId};
use crate::trade::costs::{CostKind, SharedBy};

fn cost(t: &Teller, days: i64, kind: CostKind, dollars: i64, words: &str, animals: &[AnimalId]) -> CostIn {
    let (words, animals) = (words.to_string(), animals.to_vec());
    CostIn { kind, on: t.day(days), words, amount: usd(dollars), by: SharedBy::Head, animals }
}

fn enter(t: &mut Teller, days: i64, hour: u32, new: &CostIn) -> Result<CostId, Failure> {
    let doing = t.doing(days, hour);
    enter_cost(t.tx, &doing, new)
}

/// `kill`: the day of slaughter, counted from today.
pub(super) fn tell(t: &mut Teller, kill: i64, steer: AnimalId, hogs: &[AnimalId]) -> Result<(), Failure> {
    let all: Vec<AnimalId> = std::iter::once(steer).chain(hogs.iter().copied()).collect();
    let entered = [
        (-140, cost(t, -140, CostKind::Feeder, 1_350, "Yearling from the spring sale", &[steer])),
        (-120, cost(t, -120, CostKind::Feeder, 190, "Two shoats", hogs)),
        (-90, cost(t, -90, CostKind::Feed, 421, "Hay and grain through summer", &[steer])),
        (-60, cost(t, -60, CostKind::Feed, 384, "Hog feed, two tons", hogs)),
        (-55, cost(t, -55, CostKind::Vet, 46, "Health papers", &all)),
    ];
    for (days, new) in entered {
        enter(t, days, 20, &new)?;
    }
    let mut haul =
        CostIn { by: SharedBy::Hanging, ..cost(t, kill - 1, CostKind::Haul, 112, "Trailer to Pell Road", &all) };
    let id = enter(t, kill - 1, 20, &haul)?;
    haul.amount = usd(121);
    let doing = t.doing(kill, 20);
    change_cost(t.tx, &doing, id, &haul, 1)?;
    let twice = cost(t, kill, CostKind::Haul, 121, "Trailer to Pell Road", &all);
    let twice = enter(t, kill, 20, &twice)?;
    let doing = t.doing(kill + 1, 8);
    take_back_cost(t.tx, &doing, twice, 1)
}
