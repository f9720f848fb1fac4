//! Reasons: for each reservation why it is where it is, or what would have to change; for each part-sold animal what is missing.
//!
//! Every sentence is found by looking at the finished plan (what is free in it, what an exchange would lose), not by
//! remembering how it was searched.

use super::make::Plan;
use super::problem::{Head, Order, Problem, Sides, Spot};
use super::score::{Criterion, outside, score, share_weight};
use crate::trade::dates::full;
use crate::trade::share::Size;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// The reasons of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reasons {
    /// One sentence or more for each reservation, in their order.
    pub orders: Vec<String>,
    /// The animals that carry something and have quarters left.
    pub part_sold: Vec<PartSold>,
}

/// An animal that is not sold out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartSold {
    /// Its place in [`Problem::heads`].
    pub head: usize,
    /// Quarters still free on the left and on the right.
    pub free: [u8; 2],
    /// The day they must be sold by: its processing date.
    pub until: NaiveDate,
    /// The same as a sentence.
    pub says: String,
}

/// Gives the reasons of a plan.
pub fn reasons(problem: &Problem, plan: &Plan) -> Reasons {
    let view = View::of(problem, plan);
    let orders = problem
        .orders
        .iter()
        .zip(&plan.places)
        .enumerate()
        .map(|(i, (order, place))| match place.and_then(|spot| Some((spot, problem.heads.get(spot.head)?))) {
            Some((spot, head)) => view.placed(i, order, spot, head),
            None => view.left_out(order),
        })
        .collect();
    Reasons { orders, part_sold: view.part_sold() }
}

struct View<'a> {
    problem: &'a Problem,
    plan: &'a Plan,
    free: Vec<[u8; 2]>,
    stands: Vec<bool>,
}

impl<'a> View<'a> {
    fn of(problem: &'a Problem, plan: &'a Plan) -> Self {
        let mut free: Vec<[u8; 2]> = problem.heads.iter().map(|h| h.taken.map(|t| 2_u8.saturating_sub(t))).collect();
        let mut stands: Vec<bool> = problem.heads.iter().map(|h| h.taken != [0, 0]).collect();
        for (order, place) in problem.orders.iter().zip(&plan.places) {
            if let Some(now) = order.current
                && let Some(stands) = stands.get_mut(now.spot.head)
            {
                *stands = true;
            }
            if let Some(spot) = place
                && let (Some(room), Some(quarters)) = (free.get_mut(spot.head), spot.sides.quarters(order.size))
            {
                *room = [room[0].saturating_sub(quarters[0]), room[1].saturating_sub(quarters[1])];
            }
        }
        Self { problem, plan, free, stands }
    }

    fn placed(&self, i: usize, order: &Order, spot: Spot, head: &Head) -> String {
        let when = full(head.date);
        if order.current.is_some_and(|now| now.locked) {
            return format!("It is locked on {} for {when}.", head.id);
        }
        let mut says = Vec::new();
        let rank = order.dates.iter().position(|d| *d == head.date);
        if order.current.is_some_and(|now| now.spot == spot) && self.problem.keep {
            says.push(format!("It stays on {} for {when}, where it stands", head.id));
        } else {
            says.push(match rank {
                None => format!("Any date suits it, and {} has room on {when}", head.id),
                Some(0) => format!("{when} is its first choice, and {} has room", head.id),
                Some(n) => format!("{when} is number {} of the dates it accepts, and {} has room", n + 1, head.id),
            });
        }
        if rank.is_some_and(|n| n > 0)
            && let Some(first) = order.dates.first()
        {
            says.push(self.not_there(i, order, *first));
        }
        if let Some(name) = &order.together {
            let members: Vec<Option<NaiveDate>> = self
                .problem
                .orders
                .iter()
                .zip(&self.plan.places)
                .filter(|(o, _)| o.together.as_ref() == Some(name))
                .map(|(_, place)| place.and_then(|s| self.problem.heads.get(s.head)).map(|h| h.date))
                .collect();
            if members.len() > 1 && members.iter().all(|date| *date == Some(head.date)) {
                says.push(format!("its group “{name}” is there on the same date"));
            }
        }
        if order.asked != (None, None)
            && let Some(hanging) = head.hanging
        {
            let weight = share_weight(hanging, order.size);
            let off = outside(weight, order.asked);
            let shown = Weight::from_hundredths(weight).short();
            says.push(match off {
                0 => format!("about {shown} is within the weight it asks for"),
                _ => {
                    format!("about {shown} is {} outside the weight it asks for", Weight::from_hundredths(off).short())
                }
            });
        }
        sentence(&says)
    }

    /// Why it is not on `date`, which it would like better.
    fn not_there(&self, i: usize, order: &Order, date: NaiveDate) -> String {
        let there: Vec<usize> = self.usable(order).filter(|(_, h)| h.date == date).map(|(at, _)| at).collect();
        let when = full(date);
        if there.is_empty() {
            return format!("no {} can be had on {when}", order.species.label());
        }
        let Some(spot) = there.iter().find_map(|head| self.spot(*head, order.size)) else {
            return format!("on {when} there is no room for a {} beside shares that count more", order.size.label());
        };
        let mut places = self.plan.places.clone();
        if let Some(slot) = places.get_mut(i) {
            *slot = Some(spot);
        }
        let other = score(self.problem, &places);
        let worse = Criterion::ALL.iter().find(|c| other.of(**c) != self.plan.score.of(**c));
        match worse {
            Some(c) if other.against(&self.plan.score) == Ordering::Greater => {
                format!("on {when} it would cost more than it gains ({})", c.label())
            }
            _ => format!("on {when} it would leave an animal with too few quarters"),
        }
    }

    fn left_out(&self, order: &Order) -> String {
        let species = order.species.label();
        let (share, quarters) = (order.size.label(), order.size.quarters());
        let heads = || self.problem.heads.iter().enumerate().filter(|(_, h)| h.species == order.species);
        if heads().next().is_none() {
            return format!("There is no {species} head with a date. It needs one.");
        }
        let elsewhere = self.free_elsewhere(order);
        let suits = |h: &Head| order.dates.is_empty() || order.dates.contains(&h.date);
        let its_dates = if order.dates.is_empty() { "any date" } else { "its dates" };
        if !heads().any(|(_, h)| suits(h)) {
            return sentence(&[format!("No {species} head is processed on {its_dates}"), elsewhere]);
        }
        let barred = heads().filter(|(_, h)| suits(h) && h.barred()).map(|(_, h)| h.id.as_str()).collect::<Vec<_>>();
        let withdrawal = match barred.as_slice() {
            [] => String::new(),
            some => format!("a drug withdrawal keeps it off {}", some.join(", ")),
        };
        let open: Vec<usize> = self.usable(order).map(|(at, _)| at).collect();
        if let Some(head) = open.iter().find(|head| self.spot(**head, order.size).is_some()) {
            let id = self.problem.heads.get(*head).map_or("", |h| h.id.as_str());
            let from = self.problem.open_custom_from;
            let too_few = !self.stands.get(*head).copied().unwrap_or(true) && quarters < i64::from(from);
            let first = if too_few {
                format!(
                    "{id} is free, but a head for a custom-exempt plant is opened from {from} quarters on, and it takes {quarters}"
                )
            } else {
                format!("{id} has room, but taking it would cost a promise that counts more")
            };
            return sentence(&[first, withdrawal, elsewhere]);
        }
        let left: i64 = open.iter().filter_map(|h| self.free.get(*h)).map(|f| i64::from(f[0] + f[1])).sum();
        let first = if left == 0 {
            format!("No {species} head is free on {its_dates}")
        } else {
            let (are, needs) = (plural(left), what_it_needs(order.size));
            format!("On {its_dates} {are} free, but a {share} needs {needs}")
        };
        sentence(&[first, withdrawal, elsewhere])
    }

    /// Where quarters of its species are free on dates it does not accept.
    fn free_elsewhere(&self, order: &Order) -> String {
        if order.dates.is_empty() {
            return String::new();
        }
        let mut by_date: BTreeMap<NaiveDate, i64> = BTreeMap::new();
        for (head, free) in self.problem.heads.iter().zip(&self.free) {
            if head.species == order.species && !head.barred() && !order.dates.contains(&head.date) {
                *by_date.entry(head.date).or_default() += i64::from(free[0] + free[1]);
            }
        }
        let free: Vec<String> = by_date
            .iter()
            .filter(|(_, quarters)| **quarters > 0)
            .take(3)
            .map(|(date, quarters)| format!("{} free on {}", plural(*quarters), full(*date)))
            .collect();
        free.join(", ")
    }

    /// Animals it may be put on, full or not.
    fn usable(&self, order: &Order) -> impl Iterator<Item = (usize, &'a Head)> {
        let (species, dates) = (order.species, order.dates.clone());
        self.problem
            .heads
            .iter()
            .enumerate()
            .filter(move |(_, h)| h.species == species && !h.barred() && (dates.is_empty() || dates.contains(&h.date)))
    }

    fn spot(&self, head: usize, size: Size) -> Option<Spot> {
        let free = self.free.get(head)?;
        Sides::ALL.iter().copied().find_map(|sides| {
            let [l, r] = sides.quarters(size)?;
            (l <= free[0] && r <= free[1]).then_some(Spot { head, sides })
        })
    }

    fn part_sold(&self) -> Vec<PartSold> {
        let mut list = Vec::new();
        for (i, (head, free)) in self.problem.heads.iter().zip(&self.free).enumerate() {
            let left = i64::from(free[0] + free[1]);
            if left == 0 || left == 4 || head.barred() {
                continue;
            }
            let until = full(head.date);
            let why = if head.custom_exempt {
                "; its processor is custom-exempt, so what is not sold by then cannot be sold as meat"
            } else {
                ""
            };
            let says = format!("{} on {} until {until}{why}.", plural_missing(left), head.id);
            list.push(PartSold { head: i, free: *free, until: head.date, says });
        }
        list
    }
}

const fn what_it_needs(size: Size) -> &'static str {
    match size {
        Size::Whole => "a whole animal",
        Size::Half => "a whole side",
        Size::Quarter => "one quarter",
    }
}

fn plural(quarters: i64) -> String {
    if quarters == 1 { "1 quarter is".to_string() } else { format!("{quarters} quarters are") }
}

fn plural_missing(quarters: i64) -> String {
    if quarters == 1 { "1 quarter is missing".to_string() } else { format!("{quarters} quarters are missing") }
}

/// Parts with semicolons between, a capital in front and a stop behind.
fn sentence(parts: &[String]) -> String {
    let joined = parts.iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>().join("; ");
    let mut letters = joined.chars();
    let first: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}
