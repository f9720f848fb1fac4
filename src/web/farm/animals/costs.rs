//! What an animal cost, on its page: for those who see money.

use crate::book::costs::Lot;
use crate::book::ids::AnimalId;
use crate::trade::dates::short;
use crate::trade::invoice::per_unit;
use crate::trade::money::{Money, Overflow};
use crate::trade::weight::Weight;
use crate::web::look::capital;
use crate::web::look::parts::Link;
use chrono::NaiveDate;

pub(super) struct CostLine {
    pub(super) what: Link,
    pub(super) words: String,
    pub(super) day: String,
    pub(super) part: String,
}

/// The costs of one animal.
pub(super) struct Costs {
    pub(super) lines: Vec<CostLine>,
    pub(super) total: String,
    /// What the hanging pound cost, once it hangs; or empty.
    pub(super) even: String,
}

/// The costs of an animal as its page shows them. `hangs`: what was recorded at the weigh-in.
pub(super) fn costs(
    id: AnimalId,
    lots: &[Lot],
    hangs: Option<Weight>,
    today: NaiveDate,
    unit: &str,
) -> Result<Costs, Overflow> {
    let mut parts = Vec::new();
    let lines = lots.iter().filter_map(|lot| {
        let part = lot.part_of(id)?;
        parts.push(part);
        let of = match lot.heads.len() {
            0 | 1 => lot.cost.words.clone(),
            n => {
                let of = format!("its part of {} for {n} animals, {}", lot.cost.amount.dollars(), lot.now.label());
                if lot.cost.words.is_empty() { capital(&of) } else { format!("{}; {of}", lot.cost.words) }
            }
        };
        Some(CostLine {
            what: Link::new(format!("/costs/{}", lot.cost.id), capital(lot.cost.kind.label())),
            words: of,
            day: short(lot.cost.on_day, today),
            part: part.shown(),
        })
    });
    let lines: Vec<_> = lines.collect();
    let total = Money::sum(parts)?;
    let even = match hangs.filter(|w| !w.is_zero() && total.is_positive()) {
        Some(w) => {
            format!("That is {} for a {unit} hanging: below that price it loses money.", per_unit(total, w)?.dollars())
        }
        None => String::new(),
    };
    Ok(Costs { lines, total: total.shown(), even })
}
