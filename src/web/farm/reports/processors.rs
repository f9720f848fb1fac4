//! Processor by processor: days, head, what carcasses lost between hot and cold, what came back packaged, charges.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::carcasses::billed_weights;
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, InvoiceId, ProcessorId, ReservationId};
use crate::book::ledger::behind::by_invoice;
use crate::book::packaged;
use crate::book::report::barn::Barn;
use crate::book::report::head::{Hung, Killed, hot_and_cold};
use crate::trade::ledger::Account;
use crate::trade::report::behind::Behind;
use crate::trade::report::plants::Work;
use crate::trade::weight::Weight;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/processors", name: "Processors", years_only: false, is_listed: true, make };
pages!();

/// A head at a processor, with its work and what the processor bills itself, in cents.
pub struct Done<'a> {
    /// The head.
    pub head: &'a Hung,
    /// Where and when.
    pub killed: &'a Killed,
    /// Hot and cold weight.
    pub weights: (Option<Weight>, Option<Weight>),
    /// What was done.
    pub work: Work,
    /// What the processor bills for it, in cents.
    pub own: i64,
}

/// The work on every head of the period.
///
/// # Errors
/// When the book cannot be read.
pub fn done<'a>(c: &mut DbConn, asked: &Asked, barn: &'a Barn) -> Result<Vec<Done<'a>>, Failure> {
    let head = barn.of_period(&asked.period);
    let both = hot_and_cold(c, &head)?;
    let ids: Vec<AnimalId> = head.iter().map(|h| h.animal.id).collect();
    let carcasses = billed_weights(c, &asked.farm, &ids)?;
    let shares: Vec<(AnimalId, ReservationId, Weight)> = carcasses
        .iter()
        .flat_map(|carcass| carcass.shares.iter().map(|s| (carcass.animal, s.reservation, s.weight)))
        .collect();
    let orders: Vec<ReservationId> = shares.iter().map(|(_, order, _)| *order).collect();
    let told = packaged::of(c, &orders)?;
    let bills = barn.bills_of();
    Ok(head
        .into_iter()
        .filter_map(|h| {
            let id = h.animal.id;
            let weights = both.get(&id).copied().unwrap_or_default();
            let home = shares.iter().filter(|(animal, ..)| *animal == id);
            let counted = home.filter_map(|(_, order, hung)| Some((*hung, told.get(order)?.counts()?.1)));
            let work = counted.fold(Work::new(weights.0, weights.1), |work, (hung, packed)| work.share(hung, packed));
            let billed = bills.get(&id).into_iter().flatten();
            let own = billed.fold(0_i64, |n, b| n.saturating_add(b.processor.cents()));
            Some(Done { head: h, killed: h.killed.as_ref()?, weights, work, own })
        })
        .collect())
}

/// What the farm invoiced of each processor's charges in the period, in cents.
fn passed_through(c: &mut DbConn, asked: &Asked, barn: &Barn) -> Result<BTreeMap<ProcessorId, i64>, Failure> {
    let plants: HashMap<AnimalId, ProcessorId> =
        barn.hung.iter().filter_map(|h| Some((h.animal.id, h.killed.as_ref()?.plant))).collect();
    let orders: HashMap<InvoiceId, ReservationId> = barn.bills.iter().map(|b| (b.id, b.order)).collect();
    let mut all = BTreeMap::new();
    for ((bill, _), cents) in by_invoice(c, &Behind::account(Account::PlantCharges).of(&asked.period))? {
        let animal = orders.get(&bill).and_then(|order| barn.placed.get(order));
        let Some(plant) = animal.and_then(|a| plants.get(a)) else { continue };
        let sum: &mut i64 = all.entry(*plant).or_default();
        *sum = sum.saturating_sub(cents);
    }
    Ok(all)
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let barn = Barn::read(c)?;
    let all = done(c, asked, &barn)?;
    let charges = passed_through(c, asked, &barn)?;
    let mut names: BTreeMap<ProcessorId, String> = BTreeMap::new();
    for killed in barn.hung.iter().filter_map(|h| h.killed.as_ref()) {
        let has_work = all.iter().any(|d| d.killed.plant == killed.plant);
        if has_work || charges.contains_key(&killed.plant) {
            names.entry(killed.plant).or_insert_with(|| killed.name.clone());
        }
    }
    let label = asked.period.label();
    let mut table = Table::new(
        "processors",
        format!("Processors of {label}"),
        "Shrink is what a carcass lost between its hot and its cold weight; yield is packaged weight as a part of hanging weight, of the shares of which somebody told it.",
        &[
            "Processor",
            "Days",
            "Head",
            "Shrink",
            "Yield",
            "Charges on your invoices, $",
            "Billed by the processor itself, $",
        ],
    );
    for (id, name) in &names {
        let mine: Vec<_> = all.iter().filter(|d| d.killed.plant == *id).collect();
        let work = mine.iter().fold(Work::default(), |sum, d| sum.plus(&d.work));
        let days: BTreeSet<DateId> = mine.iter().map(|d| d.killed.date).collect();
        let own = mine.iter().fold(0_i64, |n, d| n.saturating_add(d.own));
        let to = |place| asked.to("/reports/processor", &[("plant", id.to_string())], place);
        let mut behind = Behind::account(Account::PlantCharges).of(&asked.period);
        behind.plant = Some(id.0);
        table.row(vec![
            Cell::link(to(""), name.clone()),
            Cell::count(i64::try_from(days.len()).unwrap_or(i64::MAX)).to(to("sum-days")),
            Cell::count(work.head).to(to("sum-head")),
            Cell::percent(work.shrink()).to(to("sum-shrink")),
            Cell::percent(work.yielded()).to(to("sum-yield")),
            Cell::money(charges.get(id).copied().unwrap_or(0)).behind(&behind),
            Cell::money(own).to(to("sum-own")),
        ]);
    }
    Ok(Report {
        heading: match names.len() {
            0 => format!("No head was slaughtered in {label}"),
            1 => format!("One processor in {label}"),
            n => format!("{n} processors in {label}"),
        },
        lead: "Their days and head, what was lost and what came back, and what was charged.".into(),
        tables: vec![table],
        notes: vec![
            "A shrink is known where a head was weighed hot and cold: one of them at the plant, the other in the weigh-in. A hot weight \
             that was written over with a cold one by hand is not kept."
                .into(),
            "What the processor bills itself never passes through your books; it is what its schedule of charges makes of the shares \
             you invoiced."
                .into(),
        ],
        ..Report::default()
    })
}
