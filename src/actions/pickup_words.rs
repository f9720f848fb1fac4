//! What is said about collecting an order's meat: in its messages, and in the same words on pages.

use super::Failure;
use super::message_values::order_values;
use super::pickup_rules::in_force;
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, ReservationId};
use crate::book::pickup_places::{self, Window};
use crate::book::pickups::Pickup;
use crate::book::rows::pickups::{PickupPlace, PickupReady, PickupRule, PickupWindow};
use crate::book::standing::Facts;
use crate::book::{farm, standing};
use crate::post::phrases::{due, how_to_pay, long_date, what_is_due};
use crate::post::pickup::FOOD_SAFETY_NOTE;
use crate::post::wording::Values;
use crate::trade::pickup::{Storage, begins, hours, read_time};
use chrono::{NaiveTime, TimeDelta};

/// `Saturday, October 30, 2027, 9:00 am to 1:00 pm`.
pub fn window_words(w: &PickupWindow) -> String {
    format!("{}, {}", long_date(w.on_day), hours(&w.opens, &w.closes))
}

/// `Pell Road Meats, 4 Pell Road, Elm Fork`, on one line.
pub fn place_line(p: &PickupPlace) -> String {
    let address = p.address.lines().map(str::trim).filter(|l| !l.is_empty());
    std::iter::once(p.name.trim()).chain(address).collect::<Vec<_>>().join(", ")
}

/// When a window begins.
pub fn begins_at(w: &PickupWindow, now: Now) -> At {
    At::local(begins(w.on_day, &w.opens), now.zone)
}

/// When a window ends.
pub fn ends_at(w: &PickupWindow, now: Now) -> At {
    At::local(w.on_day.and_time(read_time(&w.closes).unwrap_or(NaiveTime::MIN)), now.zone)
}

/// Whether customers may still choose or leave this window by themselves.
pub fn is_open(w: &PickupWindow, rule: &PickupRule, now: Now) -> bool {
    w.cancelled_at.is_none() && now.at.plus(TimeDelta::hours(rule.hours_before)) <= begins_at(w, now)
}

/// The windows of a date that customers can choose now.
///
/// # Errors
/// The database's own.
pub fn to_choose(c: &mut DbConn, date: DateId, rule: &PickupRule, now: Now) -> Result<Vec<Window>, Failure> {
    let mut all = pickup_places::windows(c, date)?;
    all.retain(|w| w.left() > 0 && is_open(&w.window, rule, now));
    Ok(all)
}

impl PickupReady {
    /// The storage rule that was said with the notice.
    pub const fn storage(&self) -> Storage {
        Storage { free_days: self.free_days, per: self.storage_per, amount: self.storage_amount }
    }
}

/// For `{storage}`: the rule said with the notice.
pub fn storage_words(ready: Option<&PickupReady>, rule: &PickupRule) -> String {
    let said = match ready {
        Some(r) => r.storage().words(Some(r.ready_on)),
        None => rule.storage().words(None),
    };
    if said.is_empty() { "Storage costs nothing, but room is short: come as soon as you can.".into() } else { said }
}

/// For `{balance_words}`.
pub fn balance_words(facts: &Facts) -> String {
    match (&facts.invoice, facts.balance()) {
        (Some((invoice, _)), Some(balance)) => what_is_due(balance, &due(invoice.due_on)),
        _ => "Your invoice comes with a message of its own.".into(),
    }
}

fn windows_words(windows: &[Window]) -> String {
    if windows.is_empty() {
        return "When and where you can collect it comes in another message.".into();
    }
    let lines: Vec<String> =
        windows.iter().map(|w| format!("– {}, {}", window_words(&w.window), place_line(&w.place))).collect();
    format!("You can collect it:\n{}\nChoose a time on your private page, or call us.", lines.join("\n"))
}

fn ready_words(values: Values, share: &str, ready: Option<&PickupReady>) -> Values {
    let says = match ready.and_then(|r| r.boxes) {
        Some(1) => format!("Your {share} is ready, in 1 box."),
        Some(n) => format!("Your {share} is ready, in {n} boxes."),
        None => format!("Your {share} is ready."),
    };
    values.with("what_is_ready", says)
}

/// What an order's pickup messages can say; `p` is how its pickup stands after what is told.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn pickup_values(c: &mut DbConn, now: Now, order: ReservationId, p: &Pickup) -> Result<Values, Failure> {
    let (farm, rule) = (farm::get(c)?, in_force(c)?);
    let (r, _, o) = crate::book::reservations::get(c, order)?;
    let facts = standing::facts(c, &[&r])?.remove(&order).unwrap_or_default();
    let windows = match facts.date {
        Some((date, _)) => to_choose(c, date, &rule, now)?,
        None => Vec::new(),
    };
    let owes = facts.balance().is_none_or(|b| b.is_positive());
    let share = format!("{} {}", r.size.label(), o.species.label());
    let mut values = ready_words(order_values(c, order)?, &share, p.ready.as_ref())
        .with("windows", windows_words(&windows))
        .with("balance_words", balance_words(&facts))
        .with("hold_rule", if owes { rule.hold_words() } else { "You can take it with you." })
        .with("storage", storage_words(p.ready.as_ref(), &rule))
        .with("food_safety", FOOD_SAFETY_NOTE);
    if !owes {
        values = values.with("how_to_pay", "Thank you for paying in time.");
    } else {
        values = values.with("how_to_pay", how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words));
    }
    if let Some((w, place)) = &p.window {
        let words = place.words.trim();
        let place = if words.is_empty() { place_line(place) } else { format!("{}\n{words}", place_line(place)) };
        values = values.with("window", window_words(w)).with("place", place);
    }
    Ok(values)
}
