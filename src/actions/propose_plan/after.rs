//! How the shares would hang after a proposal. Pure.

use super::Line;
use crate::actions::place_share::Spot;
use crate::book::placements::{Share, taken};
use crate::book::planning::{Situation, Wanted};
use crate::trade::placing::Choice;
use crate::trade::placing::choices;
use std::cmp::Reverse;

/// Every share on the head of the situation as it would hang: what stays keeps its quarters, what moves finds its own by the
/// rule of placing, larger shares first.
pub fn after(situation: &Situation, lines: &[Line]) -> Vec<Share> {
    let stays = |s: &Share| lines.iter().find(|l| l.reservation == s.reservation).is_none_or(|l| !l.changes());
    let mut shares: Vec<Share> = situation.shares.iter().filter(|s| stays(s)).cloned().collect();
    let changed = situation.orders.iter().zip(lines).filter(|(_, l)| l.changes());
    let mut moved: Vec<_> = changed.filter_map(|(w, l)| Some((w, l.to?))).collect();
    moved.sort_by_key(|(w, _)| Reverse(w.reservation.size.quarters()));
    for (wanted, to) in moved {
        let on = taken(&shares, to.animal);
        let found = choices(&on, wanted.reservation.size, wanted.reservation.part);
        if let Some(choice) = found.into_iter().find(|c| Spot::of(c.place) == to.spot) {
            shares.push(hung(wanted, to.animal, choice));
        }
    }
    shares
}

/// A share as it would hang.
pub(super) fn hung(wanted: &Wanted, animal: crate::book::ids::AnimalId, choice: Choice) -> Share {
    let r = &wanted.reservation;
    Share {
        animal,
        reservation: r.id,
        number: r.number.clone(),
        customer: r.customer_id,
        name: wanted.name.clone(),
        offering: r.offering_id,
        size: r.size,
        part: r.part,
        slots: choice.slots,
        place: choice.place,
    }
}
