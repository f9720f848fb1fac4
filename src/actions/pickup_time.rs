//! Reminders of pickup that Gambrel writes by itself: the morning before a window, and while nothing was chosen.

use super::pickup_rules::in_force;
use super::pickup_words::{pickup_values, to_choose};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::pickups::{self, Pickup};
use crate::book::rows::pickups::{PickupReminder, PickupRule};
use crate::book::rows::selling::Reservation;
use crate::book::standing;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::envelope::check_address;
use crate::post::wording::Purpose;
use chrono::{NaiveDate, TimeDelta, Timelike};
use std::collections::HashMap;

/// From which hour of the farm's day reminders go out.
const MORNING: u32 = 8;
/// Days after the notice on which nobody is asked any more; the farmer has it on Today.
const LONGEST: i64 = 60;

/// Which reminder an order is due, and the day it counts for: "coming" or "choose".
fn due(p: &Pickup, rule: &PickupRule, doing: &Doing) -> Option<(&'static str, NaiveDate)> {
    let today = doing.now.today;
    let ready = p.ready.as_ref()?;
    if let Some((w, _)) = &p.window {
        // Who chose today has just been told.
        let told = p.choice.as_ref().is_some_and(|c| c.chosen_at.day(doing.now.zone) >= today);
        let tomorrow = w.on_day.signed_duration_since(today).num_days() == 1;
        return (rule.remind_before && tomorrow && !told).then_some(("coming", w.on_day));
    }
    if rule.ask_every < 1 || p.note.is_some() {
        return None;
    }
    let days = today.signed_duration_since(ready.ready_on).num_days();
    let whole = days / rule.ask_every * rule.ask_every;
    let day = ready.ready_on.checked_add_signed(TimeDelta::days(whole))?;
    (whole > 0 && whole <= LONGEST).then_some(("choose", day))
}

/// Reminds, by mail, those whose window is tomorrow, and those who chose none while there are windows: once for each day, from
/// the morning on. Safe to run again. Returns how many were reminded.
///
/// # Errors
/// [`Failure::Refused`] when the wording cannot be filled.
pub fn remind_of_pickup(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    if doing.now.at.utc().with_timezone(&doing.now.zone).hour() < MORNING {
        return Ok(0);
    }
    let rule = in_force(tx.conn())?;
    let mut waiting = pickups::outstanding(tx.conn(), doing.now.today)?;
    waiting.retain(|(_, who)| check_address(&who.mail).is_ok());
    let ids: Vec<_> = waiting.iter().map(|(r, _)| r.id).collect();
    let known = pickups::of_orders(tx.conn(), &ids)?;
    let done = pickups::reminders(tx.conn(), &ids)?;
    let is_due = |r: &Reservation| {
        let (kind, day) = due(known.get(&r.id)?, &rule, doing)?;
        let again = done.iter().any(|d| (d.reservation_id, d.kind.as_str(), d.for_day) == (r.id, kind, day));
        (!again).then_some((kind, day))
    };
    let due: Vec<(&Reservation, &'static str, NaiveDate)> =
        waiting.iter().filter_map(|(r, _)| is_due(r).map(|(kind, day)| (r, kind, day))).collect();
    let facts = standing::facts(tx.conn(), &due.iter().map(|(r, ..)| *r).collect::<Vec<_>>())?;
    let mut windows = HashMap::new();
    let mut n = 0;
    for (r, kind, day) in due {
        let Some((date, _)) = facts.get(&r.id).and_then(|f| f.date) else { continue };
        if kind == "choose" {
            let has_any = match windows.get(&date) {
                Some(any) => *any,
                None => !to_choose(tx.conn(), date, &rule, doing.now)?.is_empty(),
            };
            windows.insert(date, has_any);
            if !has_any {
                continue;
            }
        }
        let Some(p) = known.get(&r.id) else { continue };
        remind(tx, doing, r, p, kind, day)?;
        n += 1;
    }
    Ok(n)
}

fn remind(
    tx: &mut Tx,
    doing: &Doing,
    r: &Reservation,
    p: &Pickup,
    kind: &str,
    for_day: NaiveDate,
) -> Result<(), Failure> {
    let values = pickup_values(tx.conn(), doing.now, r.id, p)?;
    let (customer, reservation) = (r.customer_id, Some(r.id));
    let (purpose, line) = if kind == "coming" {
        (Purpose::PickupComing, "A reminder of tomorrow’s pickup was put into the outbox")
    } else {
        (Purpose::PickupMissing, "A reminder to choose a pickup window was put into the outbox")
    };
    let message_id = queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
    let (kind, made_at) = (kind.to_string(), doing.now.at);
    pickups::note_reminder(tx, &PickupReminder { reservation_id: r.id, kind, for_day, message_id, made_at })?;
    let line = Line { line: line.into(), customer: Some(customer), reservation, ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
