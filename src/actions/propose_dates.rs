//! Dates for animals that have none: what is proposed, and taking the proposal or a part of it. Nothing moves before.

use super::send_animal::send_animal;
use super::{Doing, Failure};
use crate::book::animals;
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::animals::Animal;
use crate::book::store::Tx;
use crate::book::undated::Undated;
use crate::trade::dates::full;
use crate::trade::dressing::{self, Dressed};
use crate::trade::ready::assign::{Head, Slots, assign, away};
use crate::trade::ready::gain::{Gain, measured, target_for, usual, usual_target};
use crate::trade::ready::{EARLY, LATE, ready_on};
use crate::trade::share::Species;
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weight::{Unit, Weight};
use chrono::NaiveDate;

/// What is known of one head's growth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Growth {
    /// The last weighing.
    pub weighed: (NaiveDate, Weight),
    /// What it gains.
    pub gain: Gain,
    /// Who says so when the gain is the usual one, not measured on this head.
    pub usual: Option<&'static str>,
    /// The live weight it is fed to.
    pub target: Weight,
    /// Whether the target comes from what the offering promises.
    pub promised: bool,
    /// The day it reaches the target, today when it has.
    pub ready_on: NaiveDate,
}

/// One head of the proposal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposed {
    /// The animal.
    pub animal: Animal,
    /// Its growth, or what is missing to reckon it.
    pub growth: Result<Growth, String>,
    /// The date proposed.
    pub date: Option<(DateId, NaiveDate)>,
    /// Why this date, or why none.
    pub why: String,
}

/// Slots of one species on one date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SlotUse {
    /// The date.
    pub date: DateId,
    /// The species.
    pub species: Species,
    /// Head booked.
    pub booked: i64,
    /// Head on it.
    pub used: i64,
    /// Head proposed.
    pub proposed: i64,
}

/// The proposal, and how the slots would stand.
pub fn propose(all: &Undated, unit: Unit, today: NaiveDate) -> (Vec<Proposed>, Vec<SlotUse>) {
    let mut lines = Vec::new();
    let mut uses = Vec::new();
    for species in Species::ALL {
        let slots = slots_of(all, *species);
        let free: Vec<_> = slots
            .iter()
            .map(|(use_, day)| Slots { day: *day, free: usize::try_from(use_.booked - use_.used).unwrap_or(0) })
            .collect();
        let animals: Vec<_> = all.head.iter().filter(|a| a.species == *species).collect();
        let known: Vec<_> = animals.iter().map(|a| (growth(all, a, unit, today), bar(all, a))).collect();
        let mut heads = Vec::new();
        let mut place = Vec::new();
        for (growth, bar) in &known {
            if let (Ok(growth), Ok(not_before)) = (growth, bar) {
                place.push(Some(heads.len()));
                heads.push(Head { ready_on: growth.ready_on, not_before: *not_before });
            } else {
                place.push(None);
            }
        }
        let found = assign(&heads, &free);
        let mut slots = slots;
        for ((animal, (growth, bar)), place) in animals.into_iter().zip(known).zip(place) {
            let head = place.and_then(|n| heads.get(n));
            let at = place.and_then(|n| found.get(n).copied().flatten());
            let why = why(&growth, &bar, head, at.and_then(|at| free.get(at)), &free);
            let date = at.and_then(|at| slots.get_mut(at)).map(|(use_, day)| {
                use_.proposed += 1;
                (use_.date, *day)
            });
            lines.push(Proposed { animal: animal.clone(), growth, date, why });
        }
        uses.extend(slots.into_iter().map(|(use_, _)| use_));
    }
    (lines, uses)
}

fn slots_of(all: &Undated, species: Species) -> Vec<(SlotUse, NaiveDate)> {
    let one = |(date, _): &(crate::book::rows::plants::ProcessingDate, _)| {
        let booked: i64 =
            all.slots.iter().filter(|s| s.date_id == date.id && s.species == species).map(|s| s.head).sum();
        let used = all.on.iter().filter(|h| h.date == date.id && h.species == species).count();
        let used = i64::try_from(used).unwrap_or(i64::MAX);
        (booked > 0).then_some((SlotUse { date: date.id, species, booked, used, proposed: 0 }, date.kill_on))
    };
    all.dates.iter().filter_map(one).collect()
}

/// The first day it may be killed; an error when a withdrawal period cannot be reckoned.
fn bar(all: &Undated, animal: &Animal) -> Result<Option<NaiveDate>, String> {
    let own: Vec<_> = all.given.iter().filter(|t| t.animal_id == animal.id).cloned().collect();
    animals::earliest_kill_day(&own).map_err(|e| format!("{e}. Put its treatments right first."))
}

fn growth(all: &Undated, animal: &Animal, unit: Unit, today: NaiveDate) -> Result<Growth, String> {
    let class = animal.class().ok_or("Its class is not known. Choose one on its page.")?;
    let own = all.weights.get(&animal.id).map_or(&[][..], Vec::as_slice);
    let Some(weighed) = own.last().copied() else {
        return Err("No live weight is written down. Weigh it, or measure it with the tape.".into());
    };
    let points: Vec<_> = own.iter().map(|(day, w)| (*day, w.hundredths())).collect();
    let (gain, said) = match (measured(&points), usual(class, unit)) {
        (Some(gain), _) => (gain, None),
        (None, Some((gain, source))) => (gain, Some(source)),
        (None, None) => {
            return Err(format!("Its gain is not known: weigh a {} twice, a week or more apart.", class.label()));
        }
    };
    let offered = all.offerings.iter().find(|o| o.species == animal.species && o.expected_low.is_some());
    let promised = offered.and_then(|o| {
        let low = o.expected_low?;
        let dressed = dressing::usual(class, Dressed::usual(animal.species, CarcassBasis::Hot));
        let high = o.expected_high.unwrap_or(low);
        target_for(low.hundredths(), high.hundredths(), dressed.low, dressed.high)
    });
    let target = promised
        .or_else(|| usual_target(class, unit))
        .ok_or_else(|| "No target weight is known. Write the expected hanging weight into the offering.".to_string())?;
    let ready = ready_on(weighed.0, weighed.1.hundredths(), target, gain)
        .ok_or("By its weights it does not reach the target within two years. Look the weights over.")?;
    Ok(Growth {
        weighed,
        gain,
        usual: said,
        target: Weight::from_hundredths(target),
        promised: promised.is_some(),
        ready_on: ready.max(today),
    })
}

fn why(
    growth: &Result<Growth, String>,
    bar: &Result<Option<NaiveDate>, String>,
    head: Option<&Head>,
    at: Option<&Slots>,
    dates: &[Slots],
) -> String {
    if let Err(missing) = growth {
        return missing.clone();
    }
    if let Err(missing) = bar {
        return missing.clone();
    }
    let Some(head) = head else { return String::new() };
    if let Some(at) = at {
        return match (at.day - head.ready_on).num_days() {
            0 => "On the day of its target weight.".into(),
            n if n > 0 => format!("{} after its target weight.", span(n)),
            n => format!("{} before its target weight.", span(n)),
        };
    }
    let unbarred = Head { not_before: None, ..*head };
    if dates.iter().all(|d| d.free == 0) {
        "No slot of its species is free on the coming dates. Book one.".into()
    } else if dates.iter().any(|d| away(head, d.day).is_some()) {
        "Every slot near its day goes to another head. Book one more.".into()
    } else if let (true, Some(first)) = (dates.iter().any(|d| away(&unbarred, d.day).is_some()), head.not_before) {
        format!("Inside a withdrawal period until {}. Book a later date.", full(first))
    } else {
        format!("No date lies between {} weeks before and {} weeks after {}.", EARLY / 7, LATE / 7, full(head.ready_on))
    }
}

/// "3 days", "2 weeks".
fn span(days: i64) -> String {
    match days.saturating_abs() {
        1 => "1 day".into(),
        n if n < 14 => format!("{n} days"),
        n => format!("{} weeks", (n + 3) / 7),
    }
}

/// One line of a proposal that the farmer takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Take {
    /// The animal.
    pub animal: AnimalId,
    /// Its version when it was proposed.
    pub version: i64,
    /// The date.
    pub date: DateId,
}

/// Puts each head on its date, all of them or none; withdrawal and slots are looked at again.
///
/// # Errors
/// [`Failure::Refused`] with the head that cannot go and why; nothing is moved then.
pub fn take_dates(tx: &mut Tx, doing: &Doing, lines: &[Take]) -> Result<usize, Failure> {
    if lines.is_empty() {
        return Err(Failure::refuse("take", "Tick at least one head."));
    }
    for line in lines {
        let animal = animals::get(tx.conn(), line.animal)?;
        let refused =
            |sentence: String| Failure::refuse("take", format!("{}: {sentence} No head was moved.", animal.name()));
        if animal.date_id.is_some() || animal.version != line.version {
            return Err(refused("it was changed in between; look over the proposal again.".into()));
        }
        match send_animal(tx, doing, line.animal, line.version, Some(line.date), false) {
            Ok(()) => {}
            Err(Failure::Refused(p)) => {
                let all: Vec<_> = p.0.into_iter().map(|p| p.sentence).collect();
                return Err(refused(all.join(" ")));
            }
            Err(e) => return Err(e),
        }
    }
    Ok(lines.len())
}
