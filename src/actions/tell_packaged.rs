//! Telling what a share weighed packaged, when it came home: by the farmer, or by the customer after it was collected.

use super::cut_sheet::basis;
use super::{Doing, Failure, Problems};
use crate::book::ids::ReservationId;
use crate::book::rows::packaged::NewPackagedWeight;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, packaged};
use crate::trade::dates::full;
use crate::trade::vocabulary::PackagedBy;
use crate::trade::weight::Weight;
use chrono::NaiveDate;

/// More than so many per cent of what hung does not come home, liver, head and pork added to sausage included. Common practice, no
/// source; it is there to catch a slipped digit.
const MOST_PERCENT: i64 = 120;

/// What was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PackagedIn {
    /// The weight; `None` takes back what this source told before.
    pub weight: Option<Weight>,
    /// The day it was weighed.
    pub on: NaiveDate,
    /// The revision that stood in the form; 0 when there was none.
    pub seen: i64,
}

/// Keeps it as a new revision; the story has what was told before. Said again unchanged it does nothing.
///
/// # Errors
/// [`Failure::Refused`] when the share has no hanging weight or, told by its customer, is not collected, when the day cannot be, or
/// more is said to have come home than hung; [`Failure::Stale`] when another revision was told since.
pub fn tell_packaged(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    source: PackagedBy,
    input: &PackagedIn,
) -> Result<(), Failure> {
    let farm = farm::get(tx.conn())?;
    let basis = basis(tx.conn(), &farm, doing.now.today, order)?;
    let (r, ..) = &basis.order;
    if r.cancelled_at.is_some() || !basis.is_weighed {
        let says = "This share has no hanging weight, so there is nothing to hold it against. Enter the weight first.";
        return Err(Failure::refuse("weight", says));
    }
    if source == PackagedBy::Customer && r.collected_at.is_none() {
        return Err(Failure::refuse("weight", "You can tell us when you have collected your meat."));
    }
    let kill_on = basis.facts.date.map(|(_, day)| day);
    if input.on > doing.now.today || kill_on.is_some_and(|day| input.on < day) {
        let since = kill_on.map_or(String::new(), |day| format!(" from {}", full(day)));
        return Err(Failure::refuse("on_day", format!("Give the day it was weighed,{since} until today.")));
    }
    let unit = farm.unit.as_str();
    let hung = basis.hanging.weight;
    let most = hung.hundredths().saturating_mul(MOST_PERCENT) / 100;
    if let Some(weight) = input.weight.filter(|w| w.hundredths() > most) {
        let says = format!(
            "{} {unit} is more than the {} {unit} that hung. Look for a slipped digit, or for boxes of another share.",
            weight.short(),
            hung.short()
        );
        return Err(Failure::refuse("weight", says));
    }
    let told = packaged::of(tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let before = told.of(source);
    let revision = before.map_or(0, |b| b.revision);
    if revision != input.seen {
        return Err(Failure::Stale);
    }
    let stood = before.and_then(|b| Some((b.weight?, b.on_day)));
    if stood.is_none() && input.weight.is_none() {
        return Err(Failure::refuse("weight", "Write what came home, such as 121.5."));
    }
    if stood == input.weight.map(|w| (w, input.on)) {
        return Ok(());
    }
    let new = NewPackagedWeight {
        reservation_id: order,
        source,
        revision: revision.saturating_add(1),
        weight: input.weight,
        on_day: input.on,
        told_by: doing.actor.clone(),
        told_at: doing.now.at,
    };
    packaged::insert(tx, &new)?;
    let by = source.label();
    let line = match input.weight {
        Some(weight) => {
            format!("What came home: {} {unit} packaged, weighed {}, told by {by}", weight.short(), full(input.on))
        }
        None => format!("What came home, told by {by}, was taken back"),
    };
    let detail =
        stood.map_or(String::new(), |(w, on)| format!("Before it was {} {unit}, weighed {}.", w.short(), full(on)));
    let line = Line { line, detail, reservation: Some(order), ..Line::default() };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}

/// What the farmer tells of several shares at once, all of it or none.
///
/// # Errors
/// As [`tell_packaged`], at the fields `weight-12` and `on_day` where 12 is the order.
pub fn tell_several(tx: &mut Tx, doing: &Doing, rows: &[(ReservationId, PackagedIn)]) -> Result<(), Failure> {
    let mut problems = Problems::default();
    for (order, input) in rows {
        match tell_packaged(tx, doing, *order, PackagedBy::Farm, input) {
            Ok(()) => {}
            Err(Failure::Refused(found)) => {
                for p in found.0 {
                    let field = if p.field == "weight" { format!("weight-{order}") } else { p.field };
                    if !problems.0.iter().any(|q| q.field == field && q.sentence == p.sentence) {
                        problems.add(field, p.sentence);
                    }
                }
            }
            Err(other) => return Err(other),
        }
    }
    problems.check()
}
