//! Forequarters and hindquarters: the planner knows split quarters only, so these get the room that is left, outside the
//! proof. One that has its place keeps it.

use super::after::{after, hung};
use super::problem::{is_barred, is_part, suits};
use super::{How, Line};
use crate::actions::place_share::{Spot, Target};
use crate::book::placements::{Share, taken};
use crate::book::planning::{Situation, Wanted};
use crate::book::rows::animals::Animal;
use crate::trade::dates::full;
use crate::trade::placing::{Choice, choices};
use crate::trade::share::Side;
use crate::trade::vocabulary::Inspection;
use std::cmp::Reverse;

/// What is said of a share that is placed, or not, outside the proof.
const APART: &str = "Forequarters and hindquarters get the room that the plan leaves; this is outside its proof.";

/// Puts forequarters and hindquarters that have no place where the plan leaves room: paid ones first, then by time.
pub(super) fn place_apart(situation: &Situation, how: &How, lines: &mut [Line]) {
    let mut shares = after(situation, lines);
    let mut waiting: Vec<(usize, &Wanted)> = situation.orders.iter().enumerate().filter(|(_, w)| is_part(w)).collect();
    waiting.sort_by_key(|(_, w)| (Reverse(w.deposit_paid()), w.reservation.taken_at, w.reservation.id));
    for (at, wanted) in waiting {
        let Some(line) = lines.get_mut(at) else { continue };
        if line.from.is_some() {
            line.to = line.from;
            line.why = format!("It stays where it stands. {APART}");
            continue;
        }
        match best(situation, how, &shares, wanted) {
            Some((animal, choice)) => {
                line.to = Some(Target { animal: animal.id, spot: Spot::of(choice.place) });
                let when = situation.date_of(animal).map_or(String::new(), |(d, _)| full(d.kill_on));
                line.why = format!("{} has room for it on {when}. {APART}", animal.name());
                shares.push(hung(wanted, animal.id, choice));
            }
            None => line.why = format!("No side of its species has room for it on dates that suit. {APART}"),
        }
    }
}

/// The best place that is left: beside its other half, else on a head that carries something, else the soonest.
fn best<'a>(situation: &'a Situation, how: &How, shares: &[Share], wanted: &Wanted) -> Option<(&'a Animal, Choice)> {
    let mut found = Vec::new();
    for animal in situation.head.iter().filter(|a| a.species == wanted.species && !is_barred(situation, a)) {
        let Some((date, plant)) = situation.date_of(animal) else { continue };
        let on = taken(shares, animal.id);
        let begins = on.is_empty() && plant.inspection == Inspection::Custom && how.open_from > 1;
        if begins || !suits(situation, wanted, date.kill_on) {
            continue;
        }
        let beside = |side: Side| on.iter().any(|t| t.slot.side() == side);
        for choice in choices(&on, wanted.reservation.size, wanted.reservation.part) {
            let alone = !choice.slots.first().is_some_and(|s| beside(s.side()));
            found.push(((alone, on.is_empty(), date.kill_on, animal.id), animal, choice));
        }
    }
    found.into_iter().min_by_key(|(order, ..)| *order).map(|(_, animal, choice)| (animal, choice))
}
