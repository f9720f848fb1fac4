//! Where orders stand: derived in a few queries from what is stored, never stored itself.

use super::conn::DbConn;
use super::ids::{AnimalId, DateId, OfferingId, ReservationId};
use super::placements::{self, Share};
use super::rows::animals::{Animal, WeighIn};
use super::rows::invoices::Invoice;
use super::rows::selling::Reservation;
use super::schema::{allocation, animal, credit_note, invoice, processing_date, weigh_in};
use crate::trade::money::Money;
use crate::trade::vocabulary::Condemned;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::HashMap;

/// What is known about one order beside its own row.
#[derive(Debug, Clone, Default)]
pub struct Facts {
    /// Deposit held for it.
    pub held: Money,
    /// Its place in the waiting list, from 1.
    pub in_line: Option<usize>,
    /// Where it hangs.
    pub share: Option<Share>,
    /// The animal.
    pub animal: Option<Animal>,
    /// The day of slaughter.
    pub date: Option<(DateId, NaiveDate)>,
    /// What was weighed.
    pub weigh_in: Option<WeighIn>,
    /// Its good invoice (issued and not voided), and what is paid on it.
    pub invoice: Option<(Invoice, Money)>,
}

/// Where an order stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OrderStanding {
    /// Cancelled.
    Cancelled,
    /// On the waiting list, nth in line.
    Waiting(usize),
    /// Deposit asked and not all there: what is missing, and what is in.
    DepositDue(Money, Money),
    /// Deposit in (or none asked), no animal yet.
    NoAnimal,
    /// On an animal, not weighed.
    OnAnimal,
    /// On an animal whose day of slaughter is past, not weighed.
    WeightDue,
    /// Weighed, invoice to issue.
    ToInvoice,
    /// The carcass was condemned.
    Condemned,
    /// Invoiced: what is owed, and the day it is due.
    Owed(Money, Option<NaiveDate>),
    /// Invoiced, owed and late by days.
    Overdue(Money, i64),
    /// Invoiced and paid.
    Paid,
}

impl Facts {
    /// What is still owed on the invoice; may be negative when the customer is owed.
    pub fn balance(&self) -> Option<Money> {
        let (invoice, paid) = self.invoice.as_ref()?;
        invoice.farm_total.plus(invoice.farm_tax).and_then(|t| t.minus(*paid)).ok()
    }

    /// Where the order stands on a day.
    pub fn standing(&self, r: &Reservation, today: NaiveDate) -> OrderStanding {
        if let (Some((invoice, _)), Some(balance)) = (&self.invoice, self.balance()) {
            let late = crate::trade::terms::days_late(invoice.due_on, today);
            return match balance {
                b if !b.is_positive() => OrderStanding::Paid,
                b if late > 0 => OrderStanding::Overdue(b, late),
                b => OrderStanding::Owed(b, invoice.due_on),
            };
        }
        if r.cancelled_at.is_some() {
            return OrderStanding::Cancelled;
        }
        if r.waiting_since.is_some() {
            return OrderStanding::Waiting(self.in_line.unwrap_or(1));
        }
        match (&self.weigh_in, &self.share) {
            (Some(w), _) if w.condemned == Condemned::Whole => OrderStanding::Condemned,
            (Some(_), _) => OrderStanding::ToInvoice,
            (None, share) => {
                let missing = r.deposit_asked.minus(self.held).unwrap_or_default();
                if missing.is_positive() {
                    OrderStanding::DepositDue(missing, self.held)
                } else if share.is_some() && self.date.is_some_and(|(_, day)| day < today) {
                    OrderStanding::WeightDue
                } else if share.is_some() {
                    OrderStanding::OnAnimal
                } else {
                    OrderStanding::NoAnimal
                }
            }
        }
    }
}

/// The facts of a batch of orders, in a handful of queries whatever their number.
///
/// # Errors
/// The database's own.
pub fn facts(c: &mut DbConn, orders: &[&Reservation]) -> QueryResult<HashMap<ReservationId, Facts>> {
    let ids: Vec<ReservationId> = orders.iter().map(|r| r.id).collect();
    let mut out: HashMap<ReservationId, Facts> = ids.iter().map(|id| (*id, Facts::default())).collect();
    let sums = || sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)");
    let held: Vec<(Option<ReservationId>, Option<i64>)> = allocation::table
        .filter(allocation::reservation_id.eq_any(ids.clone()))
        .group_by(allocation::reservation_id)
        .select((allocation::reservation_id, sums()))
        .load(c)?;
    for (id, cents) in held {
        if let Some(f) = id.and_then(|id| out.get_mut(&id)) {
            f.held = Money::from_cents(cents.unwrap_or(0));
        }
    }
    let queues: Vec<OfferingId> = orders.iter().filter(|r| r.waiting_since.is_some()).map(|r| r.offering_id).collect();
    if !queues.is_empty() {
        let mut counts: HashMap<OfferingId, usize> = HashMap::new();
        for (id, offering, _) in super::reservations::waiting(c, &queues)? {
            let n = counts.entry(offering).or_default();
            *n += 1;
            if let Some(f) = out.get_mut(&id) {
                f.in_line = Some(*n);
            }
        }
    }
    let shares = placements::shares_of(c, &ids)?;
    let animals: Vec<AnimalId> = shares.iter().map(|s| s.animal).collect();
    let head: HashMap<AnimalId, (Animal, Option<(DateId, NaiveDate)>)> = animal::table
        .left_join(processing_date::table)
        .filter(animal::id.eq_any(animals.clone()))
        .select((Animal::as_select(), (processing_date::id, processing_date::kill_on).nullable()))
        .load::<(Animal, Option<(DateId, NaiveDate)>)>(c)?
        .into_iter()
        .map(|(a, d)| (a.id, (a, d)))
        .collect();
    let weighed: HashMap<AnimalId, WeighIn> = weigh_in::table
        .filter(weigh_in::animal_id.eq_any(animals))
        .select(WeighIn::as_select())
        .load(c)?
        .into_iter()
        .map(|w: WeighIn| (w.animal_id, w))
        .collect();
    for share in shares {
        let Some(f) = out.get_mut(&share.reservation) else { continue };
        if let Some((animal, date)) = head.get(&share.animal) {
            f.animal = Some(animal.clone());
            f.date = *date;
        }
        f.weigh_in = weighed.get(&share.animal).cloned();
        f.share = Some(share);
    }
    let invoices: Vec<Invoice> = invoice::table
        .left_join(credit_note::table)
        .filter(invoice::reservation_id.eq_any(ids))
        .filter(credit_note::id.nullable().is_null())
        .order(invoice::id)
        .select(Invoice::as_select())
        .load(c)?;
    let paid = super::invoices::paid(c, &invoices.iter().map(|i| i.id).collect::<Vec<_>>())?;
    for i in invoices {
        let sum = paid.get(&i.id).copied().unwrap_or_default();
        if let Some(f) = out.get_mut(&i.reservation_id) {
            f.invoice = Some((i, sum));
        }
    }
    Ok(out)
}
