//! Meat that is ready and waits to be collected: for Today.

use super::Failure;
use super::pickup_rules::in_force;
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, ReservationId};
use crate::book::pickups::{self, Pickup};
use crate::book::standing;
use crate::trade::money::Money;
use chrono::NaiveDate;

/// An order that waits.
#[derive(Debug, Clone)]
pub struct Waiting {
    /// The order.
    pub order: ReservationId,
    /// Whose it is.
    pub name: String,
    /// Its date, and the day of slaughter.
    pub date: (DateId, NaiveDate),
    /// Its pickup.
    pub pickup: Pickup,
    /// The day it was said to be ready.
    pub ready_on: NaiveDate,
    /// What is still to be paid, where the meat is held until then.
    pub held_for: Option<Money>,
    /// What storage comes to that was not charged yet.
    pub storage: Money,
}

/// All of them, by the day they were said to be ready, in a fixed number of queries.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn, now: Now) -> Result<Vec<Waiting>, Failure> {
    let rows = pickups::outstanding(c, now.today)?;
    let ids: Vec<_> = rows.iter().map(|(r, _)| r.id).collect();
    let facts = standing::facts(c, &rows.iter().map(|(r, _)| r).collect::<Vec<_>>())?;
    let mut known = pickups::of_orders(c, &ids)?;
    let hold = in_force(c)?.hold_until_paid;
    let mut all = Vec::new();
    for (r, who) in rows {
        let Some(f) = facts.get(&r.id) else { continue };
        let (Some(date), Some(pickup)) = (f.date, known.remove(&r.id)) else { continue };
        let Some(ready_on) = pickup.ready.as_ref().map(|ready| ready.ready_on) else { continue };
        let storage = super::charge_storage::proposed(&r, &pickup, now)?.map(|p| p.amount).unwrap_or_default();
        let held_for = f.balance().filter(|b| hold && b.is_positive());
        all.push(Waiting { order: r.id, name: who.name, date, pickup, ready_on, held_for, storage });
    }
    Ok(all)
}
