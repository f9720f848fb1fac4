//! The plan of shares as the book stands: what is proposed for each open order, why, and what the proposal rests on.
//!
//! Nothing is written here. [`super::accept_plan`] takes a proposal, or a part of it.

mod after;
mod apart;
mod caution;
mod problem;

use super::Failure;
use super::place_share::{Target, target_of};
use crate::book::ids::{AnimalId, ReservationId};
use crate::book::planning::{MOST, Situation, Wanted};
use crate::secret;
use crate::trade::plan::{Bound, Criterion, Plan, Score, plan, reasons};
use crate::trade::share::Species;
use crate::trade::weight::{Unit, Weight};
use std::fmt::Write;

pub use after::after;
pub use caution::cautions;
pub use problem::{Asked, is_barred, is_part, problem_of, suits};

/// Work the search may do, in milliseconds of the machine it was measured on; a promise within a factor of two, so that the
/// page answers within about two seconds.
pub const WORK: u64 = 1_000;

/// A share put somewhere by hand, for trying out: the rest is planned around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pin {
    /// The order.
    pub reservation: ReservationId,
    /// Where; `None` is without a place.
    pub to: Option<Target>,
}

/// How to plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct How {
    /// One species, or all.
    pub species: Option<Species>,
    /// Whether what is arranged should stay where that costs no promise.
    pub keep: bool,
    /// Quarters that must come onto a head for a custom-exempt plant before it is begun, 1 to 4.
    pub open_from: u8,
    /// What is put somewhere by hand.
    pub pins: Vec<Pin>,
}

/// What becomes of an order by a proposal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// It stays where it is.
    Stays,
    /// It has a place and gets another one.
    Moves,
    /// It gets its first place.
    New,
    /// It has a place and gets none.
    Loses,
    /// It has none and gets none.
    LeftOut,
}

/// What is proposed for one order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The order.
    pub reservation: ReservationId,
    /// Where its share hangs today.
    pub from: Option<Target>,
    /// Where it would hang.
    pub to: Option<Target>,
    /// Why, in sentences.
    pub why: String,
    /// Whether it was put there by hand for this proposal.
    pub pinned: bool,
    /// What its cut sheet says against the animal it would get.
    pub cautions: Vec<String>,
}

impl Line {
    /// What becomes of it.
    pub fn change(&self) -> Change {
        match (self.from, self.to) {
            (None, None) => Change::LeftOut,
            (None, Some(_)) => Change::New,
            (Some(_), None) => Change::Loses,
            (Some(from), Some(to)) if from == to => Change::Stays,
            (Some(_), Some(_)) => Change::Moves,
        }
    }
    /// Whether anything is to be done.
    pub fn changes(&self) -> bool {
        self.from != self.to
    }
}

/// A proposal, with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    /// The book as it stood.
    pub situation: Situation,
    /// The fingerprint of that.
    pub basis: String,
    /// What is proposed, in the order of [`Situation::orders`].
    pub lines: Vec<Line>,
    /// Head that carry something and have quarters left: which, and what is missing until when.
    pub part_sold: Vec<(AnimalId, String)>,
    /// What it is worth.
    pub score: Score,
    /// Why it is not proven to be the best; `None` when it is.
    pub open: Option<String>,
}

/// Plans the shares as the book stands.
///
/// # Errors
/// [`Failure::Refused`] when there are too many to plan at once, or what was put somewhere by hand cannot be.
pub fn propose(situation: Situation, how: &How, unit: Unit) -> Result<Proposal, Failure> {
    if situation.head.len() > MOST || situation.orders.len() > MOST {
        let sentence = format!("More than {MOST} head or orders are too many to plan at once. Choose one species.");
        return Err(Failure::refuse("", sentence));
    }
    let asked = problem_of(&situation, how)?;
    let found = plan(&asked.problem, WORK).map_err(|unfit| {
        let whose = whose(&situation, &asked, &unit_of(&unfit.at));
        Failure::refuse("", format!("{whose}{}.", unfit.error.trim_end_matches('.')))
    })?;
    let why = reasons(&asked.problem, &found);
    let mut lines: Vec<Line> = situation.orders.iter().map(|w| standing(w, how)).collect();
    for ((place, at), says) in found.places.iter().zip(&asked.orders).zip(why.orders) {
        let Some((line, wanted)) = lines.get_mut(*at).zip(situation.orders.get(*at)) else { continue };
        line.to = place.and_then(|spot| asked.target(&situation, spot));
        line.why = match line.pinned {
            true => by_hand(&situation, wanted, line.to),
            false => says,
        };
    }
    apart::place_apart(&situation, how, &mut lines);
    for (line, wanted) in lines.iter_mut().zip(&situation.orders) {
        if line.changes() {
            line.cautions = cautions(&situation, wanted, line.to, unit);
        }
    }
    let head = |at: usize| situation.head.get(at).map(|a| a.id);
    Ok(Proposal {
        basis: fingerprint(&situation),
        part_sold: why.part_sold.into_iter().filter_map(|p| Some((head(p.head)?, p.says))).collect(),
        score: found.score,
        open: found.bound.map(|bound| open_words(&found, bound)),
        lines,
        situation,
    })
}

/// The order as it stands, with nothing proposed.
fn standing(wanted: &Wanted, how: &How) -> Line {
    let from = wanted.share.as_ref().map(target_of);
    let pin = how.pins.iter().find(|p| p.reservation == wanted.reservation.id);
    Line {
        reservation: wanted.reservation.id,
        from,
        to: if pin.is_some() { None } else { from },
        why: if pin.is_some() { "You left it without a place.".into() } else { String::new() },
        pinned: pin.is_some(),
        cautions: Vec::new(),
    }
}

fn by_hand(situation: &Situation, wanted: &Wanted, to: Option<Target>) -> String {
    let head = to.and_then(|t| situation.head.iter().find(|a| a.id == t.animal));
    let date = head.and_then(|a| situation.date_of(a));
    match date {
        Some((date, _)) if !suits(situation, wanted, date.kill_on) => {
            "You put it there. It is not one of the dates that suit.".into()
        }
        _ => "You put it there.".into(),
    }
}

/// The place of an order in the problem, from a path such as `reservations[3].current`.
fn unit_of(at: &str) -> Option<usize> {
    at.strip_prefix("reservations[")?.split(']').next()?.parse().ok()
}

/// "The half of Ruth Kessel: ".
fn whose(situation: &Situation, asked: &Asked, at: &Option<usize>) -> String {
    let order = at.and_then(|n| asked.orders.get(n)).and_then(|n| situation.orders.get(*n));
    order.map_or(String::new(), |w| format!("The {} of {}: ", w.reservation.size.label(), w.name))
}

fn open_words(found: &Plan, bound: Bound) -> String {
    let shown = |n: i64| match bound.criterion {
        Criterion::WeightOutside => Weight::from_hundredths(n).short(),
        _ => n.to_string(),
    };
    let (reached, could) = (shown(found.score.of(bound.criterion)), shown(bound.value));
    let more = if bound.criterion.more_is_better() { "more" } else { "less" };
    format!(
        "Not proven to be the best. By {} it comes to {reached}, and no plan comes to {more} than {could}.",
        bound.criterion.label()
    )
}

/// A fingerprint of all that a plan rests on: another one means that the book has moved on.
pub fn fingerprint(situation: &Situation) -> String {
    let mut text = String::new();
    // Writing to a text cannot fail.
    for (date, plant) in &situation.dates {
        let _ = writeln!(text, "date {} {} {} {}", date.id, date.version, date.kill_on, plant.inspection);
    }
    for slot in &situation.slots {
        let _ = writeln!(text, "slot {} {} {}", slot.date_id, slot.species, slot.head);
    }
    for a in &situation.head {
        let _ = writeln!(text, "head {} {} {:?} {:?}", a.id, a.version, a.date_id, situation.live.get(&a.id));
    }
    for t in &situation.given {
        let _ = writeln!(text, "given {} {} {} {}", t.id, t.last_dose_on, t.last_dose_time, t.withdrawal_days);
    }
    for share in &situation.shares {
        let _ = writeln!(text, "share {} {} {:?}", share.reservation, share.animal, share.slots);
    }
    for w in &situation.orders {
        let (r, sheet) = (&w.reservation, w.sheet.as_ref().map(|s| (s.revision, s.sheet.as_str())));
        let paid = w.deposit_paid();
        let _ = writeln!(text, "order {} {} {paid} {} {:?} {sheet:?}", r.id, r.version, w.locked, w.asked);
    }
    for o in &situation.offerings {
        let _ = writeln!(text, "offering {} {:?} {:?}", o.id, o.expected_low, o.expected_high);
    }
    secret::hash(&text)
}
