//! Customers who came back: who ordered, who of them had ordered before, and what they bought.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ids::CustomerId;
use crate::book::ledger::behind::by_customer;
use crate::book::report::facts;
use crate::trade::dates;
use crate::trade::report::behind::{Behind, Group};
use crate::trade::report::people::people;
use crate::trade::report::tenths;
use std::collections::HashMap;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/customers", name: "Customers who came back", years_only: false, is_listed: true, make };
pages!();

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let orders = facts::orders(c)?;
    let bought = by_customer(c, &Behind::group(Group::Sales).of(&asked.period))?;
    let names: HashMap<i64, &str> = orders.iter().map(|o| (o.customer.0, o.name.as_str())).collect();
    let counted: Vec<_> = orders.iter().filter_map(|o| o.ordered(asked.zone)).collect();
    let mut all: Vec<_> = people(&counted, &asked.period).into_iter().collect();
    all.sort_by_key(|(id, p)| (std::cmp::Reverse(p.before), names.get(id).copied().unwrap_or_default(), *id));
    let n = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    let back = n(all.iter().filter(|(_, p)| p.came_back()).count());
    let everybody = n(all.len());
    let (label, sum) = (asked.period.label(), all.iter().map(|(_, p)| p.now).sum());
    let mut table = Table::new(
        "customers",
        format!("Who ordered in {label}"),
        "Those who ordered most often before stand first. Cancelled orders and the waiting list do not count.",
        &["Customer", "First order", "Customers", "Came back", "Orders before", "Orders", "Bought, $"],
    );
    for (id, p) in &all {
        let mut behind = Behind::group(Group::Sales).of(&asked.period);
        behind.customer = Some(*id);
        let cents = bought.get(&CustomerId(*id)).copied().unwrap_or(0).saturating_neg();
        table.row(vec![
            Cell::link(format!("/customers/{id}"), names.get(id).copied().unwrap_or_default()),
            Cell::text(dates::short(p.since, asked.today)),
            Cell::count(1),
            Cell::count(i64::from(p.came_back())),
            Cell::count(p.before),
            Cell::count(p.now).to(asked.to("/reports/orders", &[("customer", id.to_string())], "sum-orders")),
            Cell::money(cents).behind(&behind),
        ]);
    }
    if !all.is_empty() {
        table.total(vec![
            Cell::text("Together"),
            Cell::text(""),
            Cell::count(everybody).named("sum-people"),
            Cell::count(back).named("sum-back"),
            Cell::text(""),
            Cell::count(sum).to(asked.to("/reports/orders", &[], "sum-orders")),
            Cell::text(""),
        ]);
    }
    let part = tenths(back, everybody).map(|t| format!(", {}", crate::trade::dressing::shown(t))).unwrap_or_default();
    Ok(Report {
        heading: match (back, everybody) {
            (_, 0) => format!("Nobody ordered in {label}"),
            (0, _) => format!("None of {everybody} customers had ordered before"),
            _ => format!("{back} of {everybody} customers came back{part}"),
        },
        lead: "A customer came back who had taken an order before the first one of this time.".into(),
        tables: vec![table],
        ..Report::default()
    })
}
