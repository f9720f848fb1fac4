//! What an order asks of the planner: dates in order, company, weight; and locking a share where it hangs.

use super::change_order::can_be_wished_for;
use super::{Doing, Failure, Problems};
use crate::book::ids::{DateId, ReservationId};
use crate::book::place_locks;
use crate::book::placements::{self, Share};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::wishes::{self, Wishes};
use crate::book::{animals, dates, farm, reservations};
use crate::trade::dates::full;
use crate::trade::fold::fold;

/// Choices of date an order may have, the first counted in.
pub const MOST_CHOICES: usize = 4;
/// The longest name of a group, in characters.
pub const LONGEST_GROUP: usize = 60;

/// Keeps what an order asks for. The first choice of date is kept by [`super::change_order::change_wishes`], which comes first
/// and looks at the order's version.
///
/// # Errors
/// [`Failure::Refused`] when a date is chosen twice, cancelled or past, the range of weights is upside down, or the order is
/// cancelled.
pub fn ask_place(tx: &mut Tx, doing: &Doing, id: ReservationId, asked: &Wishes) -> Result<(), Failure> {
    let (r, ..) = reservations::get(tx.conn(), id)?;
    let before = wishes::of(tx.conn(), &[id])?.remove(&id).unwrap_or_default();
    if before == *asked {
        return Ok(());
    }
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it stays as it is."));
    }
    let mut problems = Problems::default();
    let all = asked.dates(r.preferred_date_id);
    if all.len() > MOST_CHOICES {
        problems.add("choice_2", format!("Choose at most {MOST_CHOICES} dates."));
    }
    for (n, date) in all.iter().enumerate().skip(1) {
        let field = format!("choice_{}", n.saturating_add(1));
        if all.iter().take(n).any(|other| other == date) {
            problems.add(field, "This date is chosen above already. Choose another one, or none.");
        } else if !before.later.contains(date)
            && let Err(refused) = can_be_wished_for(tx, doing, Some(*date))
        {
            let Failure::Refused(why) = refused else { return Err(refused) };
            for one in why.0 {
                problems.add(field.clone(), one.sentence);
            }
        }
    }
    if let (Some(low), Some(high)) = (asked.low, asked.high)
        && low > high
    {
        problems.add("weight_high", "At most is less than at least. Write the smaller weight first.");
    }
    if asked.together.chars().count() > LONGEST_GROUP {
        problems.add("together", format!("Keep the name of the group to {LONGEST_GROUP} characters."));
    }
    problems.check()?;
    let asked = Wishes { together: as_others_write_it(tx, &asked.together)?, ..asked.clone() };
    wishes::save(tx, id, &asked)?;
    let detail = in_words(tx, r.preferred_date_id, &asked)?;
    let line = "What it asks of the plan was changed".to_string();
    let told = Line { line, detail, reservation: Some(id), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}

/// "wren family" is the same group as "Wren family".
fn as_others_write_it(tx: &mut Tx, name: &str) -> Result<String, Failure> {
    let groups = wishes::groups(tx.conn())?;
    let known = groups.into_iter().map(|(known, _)| known).find(|known| fold(known) == fold(name));
    Ok(known.unwrap_or_else(|| name.to_string()))
}

fn in_words(tx: &mut Tx, first: Option<DateId>, asked: &Wishes) -> Result<String, Failure> {
    let unit = farm::get(tx.conn())?.unit;
    let mut days = Vec::new();
    for id in asked.dates(first) {
        days.push(full(dates::get(tx.conn(), id)?.0.kill_on));
    }
    let mut parts = Vec::new();
    parts.push(match (days.is_empty(), asked.only_these) {
        (true, _) => "Any date.".to_string(),
        (false, true) => format!("Only {}.", days.join(", then ")),
        (false, false) => format!("{}, then any other date.", days.join(", then ")),
    });
    if !asked.together.is_empty() {
        parts.push(format!("Together with “{}”.", asked.together));
    }
    if let Some(words) = weight_words(asked, unit.as_str()) {
        parts.push(format!("A share of {words}."));
    }
    Ok(parts.join(" "))
}

/// "150 to 220 lb", "at most 220 lb".
pub fn weight_words(asked: &Wishes, unit: &str) -> Option<String> {
    Some(match (asked.low, asked.high) {
        (Some(low), Some(high)) => format!("{} to {} {unit}", low.short(), high.short()),
        (Some(low), None) => format!("at least {} {unit}", low.short()),
        (None, Some(high)) => format!("at most {} {unit}", high.short()),
        (None, None) => return None,
    })
}

/// Locks a share where it hangs, or takes the lock off.
///
/// # Errors
/// [`Failure::Refused`] when it has no place; [`Failure::NotFound`] when there is no such order.
pub fn lock_place(tx: &mut Tx, doing: &Doing, id: ReservationId, lock: bool) -> Result<(), Failure> {
    let (r, customer, _) = reservations::get(tx.conn(), id)?;
    let is_locked = place_locks::of(tx.conn(), &[id])?.contains(&id);
    if is_locked == lock {
        return Ok(());
    }
    let size = r.size.label();
    let (line, animal) = if lock {
        let share: Share = placements::shares_of(tx.conn(), &[id])?
            .into_iter()
            .next()
            .ok_or_else(|| Failure::refuse("", "This share has no place yet, so there is nothing to lock."))?;
        place_locks::put(tx, id, share.animal, doing.now.at)?;
        let name = animals::get(tx.conn(), share.animal)?.name();
        (format!("The {size} of {} is locked on {name}", customer.name), Some(share.animal))
    } else {
        place_locks::take_off(tx, id)?;
        (format!("The {size} of {} is not locked any more", customer.name), None)
    };
    let told = Line { line, reservation: Some(id), customer: Some(customer.id), animal, ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, told)?)
}
