//! Today's lines about meat that is ready: who chose no window, who did not come, whose note waits, and who comes and still owes.

use super::lines::{Act, Line};
use crate::actions::pickup_waiting::Waiting;
use crate::actions::pickup_words::ends_at;
use crate::book::at::Now;
use crate::book::ids::DateId;
use crate::trade::dates::{near, short};
use crate::trade::money::Money;
use crate::web::look::capital;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::words::counted;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Days after the notice from which an order without a window counts as not collected.
const LONG: i64 = 14;
/// Days before a window on which those who still owe are spoken of.
const SOON: i64 = 2;
/// Names in a line, at most.
const NAMES: usize = 4;

fn names(all: &[&Waiting]) -> String {
    let first: Vec<&str> = all.iter().take(NAMES).map(|w| w.name.as_str()).collect();
    let first = first.join(", ");
    if all.len() > NAMES { format!("{first}, and {} more", all.len() - NAMES) } else { first }
}

fn by_date(all: &[Waiting], wanted: impl Fn(&Waiting) -> bool) -> BTreeMap<(NaiveDate, DateId), Vec<&Waiting>> {
    let mut found: BTreeMap<(NaiveDate, DateId), Vec<&Waiting>> = BTreeMap::new();
    for w in all.iter().filter(|w| wanted(w)) {
        found.entry((w.date.1, w.date.0)).or_default().push(w);
    }
    found
}

/// Whether somebody should have come by now.
fn is_late(w: &Waiting, now: Now) -> bool {
    match &w.pickup.window {
        Some((window, _)) => ends_at(window, now) < now.at,
        None => now.today.signed_duration_since(w.ready_on).num_days() > LONG,
    }
}

/// What was not collected in time: for the section of what is late.
pub(super) fn late(all: &[Waiting], now: Now) -> Vec<Line> {
    let line = |(kill, date): (NaiveDate, DateId), who: Vec<&Waiting>| {
        let storage = Money::sum(who.iter().map(|w| w.storage)).unwrap_or_default();
        let storage = if storage.is_positive() {
            format!(" {} of storage can be charged.", storage.dollars())
        } else {
            String::new()
        };
        let href = format!("/dates/{date}/pickup");
        Line {
            when: Standing::late("Not collected"),
            what: Link::new(
                href.clone(),
                format!("{} not collected yet", capital(&counted(who.len(), "order was", "orders were"))),
            ),
            why: format!("Ready since {}: {}.{storage}", near(first_ready(&who, kill), now.today), names(&who)),
            act: Act::Go(Link::new(href, format!("Open the pickup list of {}", short(kill, now.today)))),
        }
    };
    by_date(all, |w| is_late(w, now)).into_iter().map(|(date, who)| line(date, who)).collect()
}

fn first_ready(who: &[&Waiting], kill: NaiveDate) -> NaiveDate {
    who.iter().map(|w| w.ready_on).min().unwrap_or(kill)
}

/// What there is to do about the others.
pub(super) fn today(all: &[Waiting], now: Now) -> Vec<Line> {
    let mut lines: Vec<Line> = all
        .iter()
        .filter_map(|w| {
            let note = w.pickup.note.as_ref()?;
            let href = format!("/dates/{}/pickup#order-{}", w.date.0, w.order);
            Some(Line {
                when: Standing::todo("To answer"),
                what: Link::new(href.clone(), format!("No pickup window fits {}", w.name)),
                why: format!("“{}”", note.words),
                act: Act::Go(Link::new(href, format!("Find a time for {}", w.name))),
            })
        })
        .collect();
    let comes_soon = |w: &Waiting| {
        w.held_for.is_some()
            && !is_late(w, now)
            && w.pickup
                .window
                .as_ref()
                .is_some_and(|(x, _)| x.on_day.signed_duration_since(now.today).num_days() <= SOON)
    };
    for ((kill, date), who) in by_date(all, comes_soon) {
        let owed: Vec<String> =
            who.iter().filter_map(|w| Some(format!("{} {}", w.name, w.held_for?.dollars()))).collect();
        let href = format!("/dates/{date}/pickup");
        lines.push(Line {
            when: Standing::todo("Hold until paid"),
            what: Link::new(
                href.clone(),
                format!(
                    "{} meat that is held",
                    capital(&counted(who.len(), "customer comes for", "customers come for"))
                ),
            ),
            why: format!("{}.", owed.join(", ")),
            act: Act::Go(Link::new(href, format!("See who comes from {}", short(kill, now.today)))),
        });
    }
    let chose_none = |w: &Waiting| w.pickup.window.is_none() && w.pickup.note.is_none() && !is_late(w, now);
    for ((kill, date), who) in by_date(all, chose_none) {
        let href = format!("/dates/{date}/pickup");
        lines.push(Line {
            when: Standing::wait(format!("Since {}", short(first_ready(&who, kill), now.today))),
            what: Link::new(
                href.clone(),
                format!("{} no pickup window yet", capital(&counted(who.len(), "customer has", "customers have"))),
            ),
            why: format!("{}.", names(&who)),
            act: Act::Go(Link::new(href, format!("Open the pickup of {}", short(kill, now.today)))),
        });
    }
    lines
}
