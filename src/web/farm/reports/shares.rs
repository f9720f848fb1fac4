//! The invoices and credit notes behind a number of shares sold and their weight.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::report::facts;
use crate::trade::dates;
use std::collections::HashMap;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/shares", name: "Shares invoiced", years_only: false, is_listed: false, make };
pages!();

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let orders = facts::by_id(facts::orders(c)?);
    let bills = facts::bills(c)?;
    let documents = facts::documents(&bills, &orders);
    let bills: HashMap<i64, &facts::Bill> = bills.iter().map(|b| (b.id.0, b)).collect();
    let mut table = Table::new(
        "shares-invoiced",
        "Invoices and credit notes",
        "The oldest first. A credit note takes off what its invoice added.",
        &["Document", "Order", "Customer", "Share", "Day", "Shares", &format!("Weight, {}", asked.unit())],
    );
    let (mut shares, mut weight) = (0_i64, 0_i64);
    let fits = |d: &&crate::trade::report::sold::Document| {
        asked.period.holds(d.day, &d.season)
            && asked.species.is_none_or(|s| s == d.species)
            && asked.share.is_none_or(|s| s == d.size)
    };
    for d in documents.iter().filter(fits) {
        let Some(bill) = bills.get(&d.invoice) else { continue };
        let Some(order) = orders.get(&bill.order) else { continue };
        let number = match (&bill.voided, d.back) {
            (Some((_, number, _)), true) => format!("{number}, for {}", bill.number),
            _ => bill.number.clone(),
        };
        shares = shares.saturating_add(d.count());
        weight = weight.saturating_add(d.hundredths());
        table.row(vec![
            Cell::link(format!("/invoices/{}", bill.id), number),
            Cell::link(format!("/orders/{}", order.id), order.number.clone()),
            Cell::text(order.name.clone()),
            Cell::text(order.share()),
            Cell::text(dates::short(d.day, asked.today)),
            Cell::count(d.count()),
            Cell::weight(d.hundredths()),
        ]);
    }
    let blank = || Cell::text("");
    table.total(vec![
        Cell::text("Together"),
        blank(),
        blank(),
        blank(),
        blank(),
        Cell::count(shares).named("sum-shares"),
        Cell::weight(weight).named("sum-weight"),
    ]);
    let what = match (asked.share, asked.species) {
        (Some(size), Some(species)) => size.of(species),
        (None, Some(species)) => format!("Shares of {}", species.label()),
        _ => "Shares".into(),
    };
    Ok(Report {
        heading: format!("{what} invoiced in {}", asked.period.label()),
        lead: "What stands behind the number of shares sold and their weight.".into(),
        tables: vec![table],
        ..Report::default()
    })
}
