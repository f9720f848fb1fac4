//! From the book to the planner's problem. Pure.

use super::How;
use crate::actions::Failure;
use crate::actions::place_share::{Spot, Target, target_of};
use crate::book::animals::earliest_kill_day;
use crate::book::planning::{Situation, Wanted};
use crate::book::rows::animals::{Animal, Treatment};
use crate::trade::dressing::{self, Dressed};
use crate::trade::fold::fold;
use crate::trade::plan::{Head, Order, Problem, SheetDifference, Spot as Place, Standing};
use crate::trade::share::{Part, Side, Size, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::{CarcassBasis, Inspection};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};

/// The problem, and where its orders stand in the situation. Its heads are those of the situation, in the same order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// What is to be planned.
    pub problem: Problem,
    /// For each of its orders the place in [`Situation::orders`].
    pub orders: Vec<usize>,
}

impl Asked {
    /// A spot of the plan as a target of the book.
    pub fn target(&self, situation: &Situation, spot: Place) -> Option<Target> {
        Some(Target { animal: situation.head.get(spot.head)?.id, spot: Spot::from(spot.sides) })
    }
}

/// Whether a share is sold as forequarter or hindquarter: the planner knows split quarters only.
pub const fn is_part(wanted: &Wanted) -> bool {
    matches!(wanted.reservation.part, Some(Part::Fore | Part::Hind))
}

/// Makes the planner's problem. Forequarters and hindquarters stay where they are and close their side to split quarters.
///
/// # Errors
/// [`Failure::Refused`] when what was put somewhere by hand cannot be there.
pub fn problem_of(situation: &Situation, how: &How) -> Result<Asked, Failure> {
    let mut orders = Vec::new();
    let mut planned = Vec::new();
    let places: HashMap<_, _> = situation.head.iter().enumerate().map(|(at, a)| (a.id, at)).collect();
    let spot = |t: Target| Some(Place { head: *places.get(&t.animal)?, sides: t.spot.sides() });
    let groups = groups(situation);
    for (at, wanted) in situation.orders.iter().enumerate() {
        let pin = how.pins.iter().find(|p| p.reservation == wanted.reservation.id);
        if is_part(wanted) || pin.is_some_and(|p| p.to.is_none()) {
            if wanted.locked && pin.is_some() {
                return Err(is_locked(wanted));
            }
            continue;
        }
        let now = wanted.share.as_ref().map(target_of);
        let current = match pin.and_then(|p| p.to) {
            Some(to) => {
                if wanted.locked && now != Some(to) {
                    return Err(is_locked(wanted));
                }
                let spot = spot(to).filter(|_| may_hang(situation, to)).ok_or_else(|| cannot(situation, wanted, to))?;
                Some(Standing { spot, locked: true })
            }
            None => now.and_then(spot).map(|spot| Standing { spot, locked: wanted.locked }),
        };
        let r = &wanted.reservation;
        planned.push(Order {
            id: r.number.clone(),
            species: wanted.species,
            size: r.size,
            taken_at: r.taken_at.0.div_euclid(1000),
            deposit_paid: wanted.deposit_paid(),
            dates: dates_of(situation, wanted),
            together: groups.get(&fold(&wanted.asked.together)).cloned(),
            asked: (wanted.asked.low, wanted.asked.high),
            current,
        });
        orders.push(at);
    }
    let problem = Problem {
        heads: situation.head.iter().map(|a| head(situation, a, how, &orders)).collect(),
        sheet_differences: sheet_differences(situation, &orders),
        orders: planned,
        keep: how.keep,
        open_custom_from: how.open_from,
    };
    Ok(Asked { problem, orders })
}

fn is_locked(wanted: &Wanted) -> Failure {
    Failure::refuse("", format!("The share of {} is locked where it is. Unlock it first.", wanted.name))
}

/// Whether an animal takes new shares, and a place like this there.
fn may_hang(situation: &Situation, to: Target) -> bool {
    situation.head.iter().any(|a| a.id == to.animal && !is_barred(situation, a))
}

fn cannot(situation: &Situation, wanted: &Wanted, to: Target) -> Failure {
    let name = &wanted.name;
    let sentence = match situation.head.iter().find(|a| a.id == to.animal) {
        Some(a) => format!(
            "{} is inside a drug withdrawal period on its date, so the share of {name} cannot go there. Go by the product’s label, and ask your veterinarian when in doubt.",
            a.name()
        ),
        None => format!("The animal chosen for {name} has no coming date any more. Choose another one."),
    };
    Failure::refuse("", sentence)
}

fn head(situation: &Situation, animal: &Animal, how: &How, planned: &[usize]) -> Head {
    let (date, plant) = situation.date_of(animal).map_or((None, None), |(d, p)| (Some(d), Some(p)));
    Head {
        id: name_of(situation, animal),
        species: animal.species,
        date: date.map_or(NaiveDate::MIN, |d| d.kill_on),
        processor: plant.map_or(String::new(), |p| p.name.clone()),
        custom_exempt: plant.is_some_and(|p| p.inspection == Inspection::Custom),
        not_before: not_before(situation, animal),
        hanging: hanging(situation, animal),
        taken: taken(situation, animal, how, planned),
    }
}

/// "Steer 211"; with the row's number behind it where two are called alike.
fn name_of(situation: &Situation, animal: &Animal) -> String {
    let name = animal.name();
    if situation.head.iter().any(|a| a.id != animal.id && a.name() == name) {
        format!("{name} (no. {})", animal.id)
    } else {
        name
    }
}

/// The first day a head may be killed. Where that cannot be reckoned it is put off for good.
fn not_before(situation: &Situation, animal: &Animal) -> Option<NaiveDate> {
    let own: Vec<Treatment> = situation.given.iter().filter(|t| t.animal_id == animal.id).cloned().collect();
    earliest_kill_day(&own).unwrap_or(Some(NaiveDate::MAX))
}

/// Whether a drug withdrawal keeps new shares off a head on its date.
pub fn is_barred(situation: &Situation, animal: &Animal) -> bool {
    let date = situation.date_of(animal).map(|(d, _)| d.kill_on);
    not_before(situation, animal).zip(date).is_some_and(|(first, date)| date < first)
}

/// The middle of what it is expected to hang: by its last live weight, else what the newest offering of its species expects.
fn hanging(situation: &Situation, animal: &Animal) -> Option<Weight> {
    let by_live = || {
        let class = animal.class()?;
        let usual = Dressed::usual(animal.species, CarcassBasis::Hot);
        dressing::expected(*situation.live.get(&animal.id)?, class, usual)
    };
    let by_offering = || {
        let offered = situation.offerings.iter().filter(|o| o.species == animal.species);
        offered.filter_map(|o| Some((o.expected_low?, o.expected_high?))).next()
    };
    let (low, high) = by_live().or_else(by_offering)?;
    Some(Weight::from_hundredths((low.hundredths() + high.hundredths() + 1) / 2))
}

/// Quarters of a head that stand for others than the orders planned, left and right.
fn taken(situation: &Situation, animal: &Animal, how: &How, planned: &[usize]) -> [u8; 2] {
    let is_planned = |s: &crate::book::placements::Share| {
        let by_hand = how.pins.iter().any(|p| p.reservation == s.reservation);
        by_hand || planned.iter().any(|at| situation.orders.get(*at).is_some_and(|w| w.reservation.id == s.reservation))
    };
    let others = situation.shares.iter().filter(|s| s.animal == animal.id && !is_planned(s));
    let mut taken = [0_u8; 2];
    for share in others {
        for slot in &share.slots {
            let [left, right] = &mut taken;
            let side = if slot.side() == Side::Left { left } else { right };
            // A forequarter or hindquarter closes its side: no split quarter goes beside it.
            *side = match share.part {
                Some(Part::Fore | Part::Hind) => 2,
                _ => side.saturating_add(1).min(2),
            };
        }
    }
    taken
}

/// Each group's name by how it reads folded, as it was written first.
fn groups(situation: &Situation) -> HashMap<String, String> {
    let mut names = HashMap::new();
    for wanted in situation.orders.iter().filter(|w| !w.asked.together.is_empty()) {
        names.entry(fold(&wanted.asked.together)).or_insert_with(|| wanted.asked.together.clone());
    }
    names
}

/// The days chosen, best first; and, unless only those suit, every other coming day behind them.
fn dates_of(situation: &Situation, wanted: &Wanted) -> Vec<NaiveDate> {
    let day = |id| situation.dates.iter().find(|(d, _)| d.id == id).map(|(d, _)| d.kill_on);
    let chosen = wanted.asked.dates(wanted.reservation.preferred_date_id);
    if chosen.is_empty() {
        return Vec::new();
    }
    let mut days: Vec<NaiveDate> = Vec::new();
    let others = situation.dates.iter().filter(|_| !wanted.asked.only_these).map(|(d, _)| d.kill_on);
    for day in chosen.into_iter().filter_map(day).chain(others) {
        if !days.contains(&day) {
            days.push(day);
        }
    }
    if days.is_empty() {
        // All that were chosen are past or cancelled, and no other suits: a day on which nothing is processed.
        days.push(NaiveDate::MIN);
    }
    days
}

/// Whether an order accepts a day.
pub fn suits(situation: &Situation, wanted: &Wanted, day: NaiveDate) -> bool {
    let days = dates_of(situation, wanted);
    days.is_empty() || days.contains(&day)
}

/// Pairs of split quarters whose cut sheets both say something of a block and do not say the same.
fn sheet_differences(situation: &Situation, orders: &[usize]) -> Vec<SheetDifference> {
    let mut sheets: Vec<(usize, Species, Kept)> = Vec::new();
    for (place, at) in orders.iter().enumerate() {
        let Some(wanted) = situation.orders.get(*at).filter(|w| w.reservation.size == Size::Quarter) else { continue };
        if let Some(kept) = wanted.sheet.as_ref().and_then(|s| sheet_json::read(&s.sheet).ok()) {
            sheets.push((place, wanted.species, kept));
        }
    }
    let mut found = Vec::new();
    for (n, (a, species, one)) in sheets.iter().enumerate() {
        for (b, _, other) in sheets.iter().skip(n.saturating_add(1)).filter(|(_, s, _)| s == species) {
            let blocks = differing_blocks(one, other);
            if blocks > 0 {
                found.push(SheetDifference { a: *a, b: *b, blocks });
            }
        }
    }
    found
}

/// How many blocks two sheets both speak of, and want in different ways. A blank gives way to the other's wish.
pub fn differing_blocks(one: &Kept, other: &Kept) -> u16 {
    let said = |kept: &Kept| -> BTreeSet<String> {
        kept.sheet.blocks.keys().chain(kept.sheet.partitions.keys()).cloned().collect()
    };
    let (mine, theirs) = (said(one), said(other));
    let differs = |block: &&String| {
        let (a, b) = (&one.sheet, &other.sheet);
        a.partitions.get(*block) != b.partitions.get(*block) || a.blocks.get(*block) != b.blocks.get(*block)
    };
    let n = mine.intersection(&theirs).filter(differs).count();
    u16::try_from(n).unwrap_or(u16::MAX).min(Problem::MOST_BLOCKS)
}

#[cfg(test)]
mod tests {
    use super::differing_blocks;
    use crate::trade::cuts::sheet::{Sheet, Slice};
    use crate::trade::sheet_json::Kept;

    fn sheet(blocks: &[(&str, &str)]) -> Kept {
        let blocks = blocks.iter().map(|(b, c)| ((*b).to_string(), (*c).to_string())).collect();
        Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() }
    }

    #[test]
    fn only_blocks_that_both_speak_of_differ() {
        let one = sheet(&[("rib", "steak"), ("neck", "stew"), ("shank", "grind")]);
        let other = sheet(&[("rib", "roast"), ("neck", "stew"), ("brisket", "whole")]);
        assert_eq!((differing_blocks(&one, &other), differing_blocks(&other, &one)), (1, 1));
        assert_eq!(differing_blocks(&one, &Kept::default()), 0);
        let mut parted = one.clone();
        parted.sheet.blocks.remove("rib");
        parted.sheet.partitions.insert("rib".into(), vec![Slice { choice: "steak".into(), pieces: 3 }]);
        assert_eq!(differing_blocks(&parted, &one), 1, "given out by pieces is not the same as all of it");
    }
}
