//! Saying that the meat of orders is ready: the notice goes out once for each, with windows, balance and storage rule.

use super::pickup_rules::in_force;
use super::pickup_words::pickup_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, Problems};
use crate::book::ids::{DateId, ReservationId};
use crate::book::pickups::{self, Pickup};
use crate::book::rows::pickups::PickupReady;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, reservations};
use crate::post::wording::Purpose;

/// An order whose meat is ready.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Packed {
    /// The order.
    pub order: ReservationId,
    /// In how many boxes, 1 to 999; none when nobody counted.
    pub boxes: Option<i64>,
}

/// Says it. Orders that were said to be ready before get their boxes written down and no second notice. Returns how many notices
/// were written.
///
/// # Errors
/// [`Failure::Refused`] when nothing is chosen, slaughter lies ahead, or one of them is not of this date or was collected.
pub fn say_ready(tx: &mut Tx, doing: &Doing, date: DateId, packed: &[Packed]) -> Result<usize, Failure> {
    if packed.is_empty() {
        return Err(Failure::refuse("order", "Tick the orders whose meat is ready."));
    }
    let (booked, _) = dates::get(tx.conn(), date)?;
    if booked.kill_on > doing.now.today {
        return Err(Failure::refuse("", "Slaughter lies ahead, so nothing is ready yet."));
    }
    let rule = in_force(tx.conn())?;
    let on = pickups::orders_on(tx.conn(), date)?;
    let known = pickups::of_orders(tx.conn(), &packed.iter().map(|p| p.order).collect::<Vec<_>>())?;
    let mut problems = Problems::default();
    for p in packed {
        let field = format!("order-{}", p.order);
        match on.iter().find(|(r, ..)| r.id == p.order) {
            None => problems.add(field, "An order has no share on this date any more. Open the page again."),
            Some((r, who, _)) if r.collected_at.is_some() => {
                problems.add(field, format!("{} has collected it already.", who.name));
            }
            Some(_) => {}
        }
    }
    problems.check()?;
    let mut told = 0;
    for p in packed {
        let pickup = known.get(&p.order).cloned().unwrap_or_default();
        if pickup.ready.is_some() {
            pickups::set_boxes(tx, p.order, p.boxes)?;
            continue;
        }
        let ready = PickupReady {
            reservation_id: p.order,
            ready_on: doing.now.today,
            boxes: p.boxes,
            free_days: rule.free_days,
            storage_per: rule.storage_per,
            storage_amount: rule.storage_amount,
            message_id: None,
            said_at: doing.now.at,
        };
        say_one(tx, doing, ready, pickup)?;
        told += 1;
    }
    Ok(told)
}

fn say_one(tx: &mut Tx, doing: &Doing, ready: PickupReady, pickup: Pickup) -> Result<(), Failure> {
    let order = ready.reservation_id;
    let (r, ..) = reservations::get(tx.conn(), order)?;
    let pickup = Pickup { ready: Some(ready.clone()), ..pickup };
    let values = pickup_values(tx.conn(), doing.now, order, &pickup)?;
    let (customer, reservation) = (r.customer_id, Some(order));
    let purpose = Purpose::PickupReady;
    let message = queue_message(tx, doing, &ToSay { customer, reservation, purpose, values, attachment: None })?;
    let boxes = match ready.boxes {
        Some(1) => "In 1 box.".to_string(),
        Some(n) => format!("In {n} boxes."),
        None => String::new(),
    };
    pickups::add_ready(tx, &PickupReady { message_id: Some(message), ..ready })?;
    let line = Line {
        line: "The meat is ready; the notice was put into the outbox".into(),
        detail: boxes,
        customer: Some(customer),
        reservation,
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
