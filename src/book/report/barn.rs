//! Head that hung together with the orders on them and their invoices, for reports about animals and processors.

use super::facts::{self, Bill, Order};
use super::head::{self, Hung};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, ReservationId};
use crate::trade::report::period::Period;
use diesel::QueryResult;
use std::collections::{BTreeMap, HashMap};

/// What reports about animals rest on.
pub struct Barn {
    /// Every order.
    pub orders: HashMap<ReservationId, Order>,
    /// Every invoice.
    pub bills: Vec<Bill>,
    /// Every head that was weighed in, by day of slaughter.
    pub hung: Vec<Hung>,
    /// Which head each share hangs on.
    pub placed: BTreeMap<ReservationId, AnimalId>,
}

impl Barn {
    /// Reads it, in a fixed number of queries.
    ///
    /// # Errors
    /// The database's own.
    pub fn read(c: &mut DbConn) -> QueryResult<Self> {
        Ok(Self {
            orders: facts::by_id(facts::orders(c)?),
            bills: facts::bills(c)?,
            hung: head::hung(c)?,
            placed: head::placed(c)?,
        })
    }
    /// Head slaughtered in a year, or with a share of a season on them.
    pub fn of_period(&self, period: &Period) -> Vec<&Hung> {
        match period {
            Period::Year(_) => self.hung.iter().filter(|h| period.holds(h.day(), "")).collect(),
            Period::Season(season) => {
                let of_season = |order: &ReservationId| self.orders.get(order).is_some_and(|o| o.season == *season);
                let head: std::collections::BTreeSet<_> =
                    self.placed.iter().filter(|(order, _)| of_season(order)).map(|(_, animal)| *animal).collect();
                self.hung.iter().filter(|h| head.contains(&h.animal.id)).collect()
            }
        }
    }
    /// The invoices that were not taken back, by the head their share hangs on.
    pub fn bills_of(&self) -> HashMap<AnimalId, Vec<&Bill>> {
        let mut all: HashMap<AnimalId, Vec<&Bill>> = HashMap::new();
        for bill in self.bills.iter().filter(|b| b.voided.is_none()) {
            if let Some(animal) = self.placed.get(&bill.order) {
                all.entry(*animal).or_default().push(bill);
            }
        }
        all
    }
}
