//! Deposits held over time: other people's money until the animal is invoiced.

use super::Which;
use super::income::months_of;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ledger::behind::{by_day, by_order, total};
use crate::book::report::facts;
use crate::trade::dates;
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Half};
use crate::trade::report::months::held;
use crate::trade::share::Species;
use crate::web::look::capital;
use crate::web::look::chart::{self, Chart};
use std::collections::BTreeMap;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/deposits", name: "Deposits held", years_only: false, is_listed: true, make };
pages!();

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let mut deposits = Behind::account(Account::Deposits);
    deposits.season = deposits.clone().of(&asked.period).season;
    let last = asked.last();
    let opening = match asked.period.days().and_then(|(first, _)| first.pred_opt()) {
        Some(before) => {
            let held = deposits.clone().up_to(before);
            held.read(total(c, &held)?).cents()
        }
        None => 0,
    };
    let moving = match asked.period.days() {
        Some((first, _)) => deposits.clone().between(first, last),
        None => deposits.clone().up_to(last),
    };
    let lines = by_day(c, &moving)?;
    let time: Vec<_> = months_of(&asked.period, &lines)
        .into_iter()
        .filter(|m| m.first <= last)
        .map(|m| crate::trade::report::period::Month { last: m.last.min(last), ..m })
        .collect();
    let each = held(opening, &lines, &time);
    let now = deposits.clone().up_to(last);
    let by_species = species(c, &now)?;
    let label = asked.period.label();
    let mut table = Table::new(
        "deposits-by-month",
        "Month by month",
        "What was held at the start, what was put to orders, what was taken from them, and what was held at the end.",
        &["Month", "Held at the start, $", "Put to orders, $", "Taken from orders, $", "Held at the end, $"],
    );
    for (month, h) in time.iter().zip(&each) {
        let within = deposits.clone().between(month.first, month.last);
        let start = Cell::money(h.start);
        table.row(vec![
            Cell::text(month.label(true)),
            match month.first.pred_opt() {
                Some(before) => start.behind(&deposits.clone().up_to(before)),
                None => start,
            },
            Cell::money(h.put).behind(&within.clone().side(Half::Credit)),
            Cell::money(h.taken.saturating_neg()).behind(&within.side(Half::Debit)),
            Cell::money(h.end).behind(&deposits.clone().up_to(month.last)),
        ]);
    }
    let end = each.last().map_or(opening, |h| h.end);
    let mut of_what = Table::new(
        "deposits-by-species",
        "For which animals",
        format!("Held at the end of {}, by what was ordered.", dates::full(last)),
        &["For", "Held, $"],
    );
    for (species, cents) in &by_species {
        of_what.row(vec![
            Cell::text(capital(species.label())),
            Cell::money(*cents).behind(&now.clone().species(*species)),
        ]);
    }
    of_what.total(vec![Cell::text("All"), Cell::money(end).behind(&now)]);
    let groups: Vec<_> =
        time.iter().zip(&each).map(|(m, h)| chart::Group { label: m.short(), values: vec![h.end] }).collect();
    let most = time.iter().zip(&each).max_by_key(|(_, h)| h.end);
    let dollars = |cents| Money::from_cents(cents).dollars();
    let says = most.map_or("Nothing was held.".to_string(), |(m, h)| {
        format!("The most was held at the end of {}: {}.", m.label(true), dollars(h.end))
    });
    Ok(Report {
        heading: format!("{} held in deposits", dollars(end)),
        lead: format!(
            "At the end of {}, for orders of {} without an invoice. It is the customers’ money until the animal is invoiced.",
            dates::full(last),
            of_time(asked)
        ),
        charts: if each.is_empty() {
            Vec::new()
        } else {
            vec![Chart::line("c-deposits", format!("Deposits held at the end of each month, {label}"), says, &groups)]
        },
        tables: vec![table, of_what],
        ..Report::default()
    })
}

/// "every season" or "Fall 2027".
fn of_time(asked: &Asked) -> String {
    match asked.period.days() {
        Some(_) => "every season".into(),
        None => asked.period.label(),
    }
}

/// What is held by species, in cents.
fn species(c: &mut DbConn, now: &Behind) -> Result<BTreeMap<Species, i64>, Failure> {
    let sums = by_order(c, now)?;
    let orders = facts::by_id(facts::orders(c)?);
    let mut all: BTreeMap<Species, i64> = BTreeMap::new();
    for (order, cents) in sums {
        let Some(order) = orders.get(&order) else { continue };
        let sum = all.entry(order.species).or_default();
        *sum = sum.saturating_sub(cents);
    }
    all.retain(|_, cents| *cents != 0);
    Ok(all)
}
