//! The orders behind a number of orders.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::report::facts;
use crate::trade::dates;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/orders", name: "Orders taken", years_only: false, is_listed: false, make };
pages!();

/// Orders of the period that are neither cancelled nor on the waiting list; `waiting` and `cancelled` are the other lists.
pub fn fits(order: &facts::Order, asked: &Asked, list: &str) -> bool {
    let listed = match list {
        "waiting" => order.waits && !order.cancelled,
        "cancelled" => order.cancelled,
        _ => !order.waits && !order.cancelled,
    };
    listed
        && asked.period.holds(order.taken_at.day(asked.zone), &order.season)
        && asked.species.is_none_or(|s| s == order.species)
        && asked.share.is_none_or(|s| s == order.size)
        && asked.customer.is_none_or(|id| id == order.customer.0)
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let orders = facts::orders(c)?;
    let mine: Vec<_> = orders.iter().filter(|o| fits(o, asked, &asked.list)).collect();
    let what = match asked.list.as_str() {
        "waiting" => "Orders on the waiting list",
        "cancelled" => "Orders that were cancelled",
        _ => "Orders taken",
    };
    let mut table = Table::new(
        "orders-taken",
        what,
        "In the order they were taken.",
        &["Order", "Customer", "Share", "Season", "Taken", "Shares"],
    );
    for o in &mine {
        table.row(vec![
            Cell::link(format!("/orders/{}", o.id), o.number.clone()),
            Cell::link(format!("/customers/{}", o.customer), o.name.clone()),
            Cell::text(o.share()),
            Cell::text(o.season.clone()),
            Cell::text(dates::short(o.taken_at.day(asked.zone), asked.today)),
            Cell::count(1),
        ]);
    }
    let blank = || Cell::text("");
    let sum = i64::try_from(mine.len()).unwrap_or(i64::MAX);
    table.total(vec![Cell::text("Together"), blank(), blank(), blank(), blank(), Cell::count(sum).named("sum-orders")]);
    Ok(Report {
        heading: format!("{what}, {}", asked.period.label()),
        lead: match asked.period.days() {
            Some(_) => "By the day on which the order was taken.".into(),
            None => "By the season for which the share was sold.".into(),
        },
        tables: vec![table],
        ..Report::default()
    })
}
