//! Where an order stands, as a line of steps with their days.

use super::mine::Mine;
use crate::actions::message_values::price_words;
use crate::actions::pickup_words::{place_line, window_words};
use crate::actions::sheet_open::May;
use crate::book::at::Now;
use crate::book::rows::farm::Farm;
use crate::book::standing::OrderStanding;
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::vocabulary::{Condemned, SheetOrigin, Terms};
use crate::web::farm::orders::words;
use crate::web::look::capital;
use crate::web::look::parts::{Link, Standing};
use chrono::NaiveDate;

/// One step of an order.
#[derive(Debug, Clone)]
pub struct Step {
    /// Its day, or a standing such as "By Fri, Oct 8".
    pub when: Standing,
    /// What it is.
    pub says: String,
    /// How it stands; none for what is still to come.
    pub standing: Option<Standing>,
    /// A second line.
    pub why: String,
    /// Papers and pages that belong to it.
    pub links: Vec<Link>,
    /// Whether it is still to come.
    pub later: bool,
    /// Whether it is the one the order is at.
    pub now: bool,
}

impl Step {
    fn done(day: Option<NaiveDate>, today: NaiveDate, says: &str, word: &str) -> Self {
        let when = Standing::plain(day.map(|d| dates::short(d, today)).unwrap_or_default());
        Self {
            when,
            says: says.into(),
            standing: Some(Standing::done(word)),
            why: String::new(),
            links: Vec::new(),
            later: false,
            now: false,
        }
    }
    fn later(when: impl Into<String>, says: &str, why: impl Into<String>) -> Self {
        Self {
            when: Standing::plain(when),
            says: says.into(),
            standing: None,
            why: why.into(),
            links: Vec::new(),
            later: true,
            now: false,
        }
    }
    fn why(mut self, why: impl Into<String>) -> Self {
        self.why = why.into();
        self
    }
    fn is_done(&self) -> bool {
        self.standing.is_some()
    }
}

/// The steps, in the order in which they come.
pub fn steps(m: &Mine, farm: &Farm, now: Now) -> Vec<Step> {
    let mut all = vec![reserved(m, farm, now), deposit(m, now)];
    all.extend([
        animal(m, now),
        sheet(m, now),
        weight(m, farm, now),
        invoice(m, farm, now),
        ready(m, now),
        collected(m, now),
    ]);
    if let Some(first) = all.iter_mut().find(|s| !s.is_done()) {
        first.now = true;
        first.later = false;
    }
    all
}

fn reserved(m: &Mine, farm: &Farm, now: Now) -> Step {
    let (r, ..) = &m.order;
    let today = now.today;
    let price = format!(
        "{}. That price is locked since {}.",
        capital(&price_words(r, farm.unit)),
        dates::long(r.price_locked_on, today)
    );
    let taken = Some(r.taken_at.day(now.zone));
    if let OrderStanding::Waiting(n) = m.standing {
        let why = format!("You are {} in line. {price}", words::ordinal(n));
        return Step { now: true, standing: None, ..Step::done(taken, today, "On the waiting list", "").why(why) };
    }
    Step::done(taken, today, "Reserved", "Done").why(price)
}

fn deposit(m: &Mine, now: Now) -> Step {
    let (r, ..) = &m.order;
    let asked = r.deposit_asked;
    if asked.is_zero() {
        return Step::done(None, now.today, "No deposit was asked", "Done");
    }
    let received: Money = m.deposit.0;
    let missing = asked.minus(received).unwrap_or_default();
    if !missing.is_positive() || m.facts.invoice.is_some() {
        let says = format!("Deposit of {}", received.dollars());
        return Step { links: m.receipt_links(), ..Step::done(m.deposit.1, now.today, &says, "Received") };
    }
    let some = if received.is_positive() { format!("{} of it is in.", received.dollars()) } else { String::new() };
    let step = Step::later("", &format!("Deposit of {}", asked.dollars()), some);
    Step { links: m.receipt_links(), ..step }
}

fn animal(m: &Mine, now: Now) -> Step {
    let facts = &m.facts;
    let hangs = facts.animal.as_ref().zip(facts.share.as_ref());
    let condemned = facts.weigh_in.as_ref().is_some_and(|w| w.condemned == Condemned::Whole);
    match (hangs, &m.date) {
        (Some(_), _) if condemned => Step::later(
            "",
            "Another animal",
            "The carcass was condemned by the inspector. Nothing is billed; we look for another animal for you.",
        ),
        (Some((a, s)), Some((date, plant))) => {
            let place = capital(&words::place(s.place));
            let why = format!(
                "{place} of {}, {} at {}.",
                words::animal(a).to_lowercase(),
                dates::long(date.kill_on, now.today),
                plant.name
            );
            Step::done(Some(date.kill_on), now.today, "Animal and day", "Set").why(why)
        }
        (Some((a, s)), None) => {
            let why = format!("{} of {}. Its day is not set yet.", capital(&words::place(s.place)), words::animal(a));
            Step::later("", "Animal and day", why)
        }
        (None, _) => Step::later("", "Animal and day", "We write to you when your share has its animal and its day."),
    }
}

fn sheet(m: &Mine, now: Now) -> Step {
    let step = sheet_stands(m, now);
    Step { links: m.sheet_page.iter().filter(|_| m.date.is_some()).cloned().collect(), ..step }
}

fn sheet_stands(m: &Mine, now: Now) -> Step {
    let by = match &m.may {
        May::Change(Some(day)) => format!("By {}", dates::near(*day, now.today)),
        _ => String::new(),
    };
    match (&m.sheet, &m.may) {
        (Some(s), may) => {
            let how = match s.origin {
                SheetOrigin::Standard => "The standard cut",
                _ => "Your wishes are in",
            };
            let until = match may {
                May::Change(Some(day)) => format!("It can be changed until {}.", dates::long(*day, now.today)),
                _ => String::new(),
            };
            let done = Step::done(Some(s.entered_at.day(now.zone)), now.today, "Cut sheet", "In");
            done.why(format!("{how}. {until}").trim().to_string())
        }
        (None, May::Change(_)) if m.date.is_some() => {
            let step = Step::later("", "Cut sheet", "It tells the butcher how you want your share cut and wrapped.");
            Step { when: if by.is_empty() { Standing::plain("") } else { Standing::todo(by) }, ..step }
        }
        (None, May::Ask(why) | May::Nothing(why)) => Step::later("", "Cut sheet", why.clone()),
        (None, May::Change(_)) => Step::later("", "Cut sheet", "You tell us how to cut it when its day is set."),
    }
}

fn weight(m: &Mine, farm: &Farm, now: Now) -> Step {
    let kill = m.date.as_ref().map(|(d, _)| d.kill_on);
    match &m.billed {
        Some(w) => {
            let weighed = m.facts.weigh_in.as_ref().map(|w| w.weighed_on).or(kill);
            let says = format!("Hanging weight {} {}", w.shown(), farm.unit);
            Step::done(weighed, now.today, &says, "Weighed")
        }
        None => Step::later(
            kill.map(|d| dates::short(d, now.today)).unwrap_or_default(),
            "Hanging weight",
            "We tell you when your share is on the scale.",
        ),
    }
}

fn invoice(m: &Mine, farm: &Farm, now: Now) -> Step {
    let Some((i, _)) = &m.facts.invoice else {
        let due = match farm.terms {
            Terms::Pickup => "Due before pickup.".to_string(),
            Terms::Days => format!("Due {} days after it is written.", farm.terms_days),
        };
        return Step::later("", "Invoice for the balance", due);
    };
    let link = vec![Link::new(format!("/my/invoice/{}", i.id), format!("Invoice {}", i.number))];
    let due = i.due_on.map_or("before pickup".to_string(), |d| format!("by {}", dates::long(d, now.today)));
    let step = match m.facts.balance() {
        Some(owed) if owed.is_positive() => {
            Step::later(dates::short(i.issued_on, now.today), "Invoice for the balance", "")
                .why(format!("{} is to be paid {due}.", owed.dollars()))
        }
        _ => Step::done(Some(i.issued_on), now.today, "Invoice for the balance", "Paid"),
    };
    Step { links: link, ..step }
}

fn ready(m: &Mine, now: Now) -> Step {
    if let Some(ready) = &m.pickup.ready {
        let why = match &m.pickup.window {
            Some((w, place)) => format!("You collect it on {}, at {}.", window_words(w), place_line(place)),
            None if m.can_choose => "Choose when you collect it.".into(),
            None => "We tell you when and where you can collect it.".into(),
        };
        let storage = ready.storage().words(Some(ready.ready_on));
        let step = Step::done(Some(ready.ready_on), now.today, "Ready to collect", "Ready");
        let words = if m.pickup.window.is_some() { "See or change when you collect it" } else { "When you collect it" };
        let links = if m.order.0.collected_at.is_some() { Vec::new() } else { vec![Link::new("/my/pickup", words)] };
        return Step { links, ..step.why(format!("{why} {storage}").trim_end().to_string()) };
    }
    if let Some(at) = m.order.0.collected_at {
        return Step::done(Some(at.day(now.zone)), now.today, "Ready to collect", "Ready");
    }
    let storage = m.rule.storage().words(None);
    let Some((date, plant)) = &m.date else {
        return Step::later("", "Ready to collect", format!("We tell you when and where. {storage}").trim_end());
    };
    let when = match (date.pickup_from, date.pickup_to) {
        (Some(from), Some(to)) => dates::span(from, to, now.today),
        (Some(day), None) | (None, Some(day)) => dates::short(day, now.today),
        (None, None) => String::new(),
    };
    let about = if when.is_empty() { String::new() } else { format!("about {when}") };
    let why = format!("At {}. The days are what we expect, not a promise. {storage}", plant.name);
    Step::later(about, "Ready to collect", why.trim_end())
}

fn collected(m: &Mine, now: Now) -> Step {
    match (m.order.0.collected_at, &m.pickup.collected) {
        (Some(at), who) => {
            let step = Step::done(Some(at.day(now.zone)), now.today, "Collected", "Done");
            let step = step.why(who.as_ref().map_or(String::new(), |c| format!("By {}.", c.by_name)));
            let told = m.billed.map(|_| Link::new("/my/came-home", "Tell us what came home"));
            Step { links: told.into_iter().collect(), ..step }
        }
        (None, _) => {
            let is_paid = m.facts.balance().is_some_and(|b| !b.is_positive());
            Step::later("", "Collected", if is_paid { "" } else { m.rule.hold_words() })
        }
    }
}
