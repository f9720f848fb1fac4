//! What was sold, by species and size of share.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::ledger::behind::by_invoice;
use crate::book::report::facts;
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group};
use crate::trade::report::sold::{Sold, sold};
use crate::trade::share::{Size, Species};
use crate::web::look::capital;
use crate::web::look::chart::{self, Chart};
use std::collections::{BTreeMap, HashMap};

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/sales", name: "Sales by share", years_only: false, is_listed: true, make };
pages!();

/// What was sold in the period by species and size, of all orders and invoices there are.
///
/// # Errors
/// When the book cannot be read.
pub fn by_share(
    c: &mut DbConn,
    asked: &Asked,
    orders: &HashMap<ReservationId, facts::Order>,
    bills: &[facts::Bill],
) -> Result<BTreeMap<(Species, Size), Sold>, Failure> {
    let sums = by_invoice(c, &Behind::group(Group::Sales).of(&asked.period))?;
    let of_bill: HashMap<_, _> = bills.iter().map(|b| (b.id, b.order)).collect();
    let amounts: Vec<(Species, Size, i64)> = sums
        .iter()
        .filter_map(|((id, account), cents)| {
            let size = orders.get(of_bill.get(id)?)?.size;
            let species = Species::ALL.iter().copied().find(|s| Account::of_sales(*s) == *account)?;
            Some((species, size, cents.saturating_neg()))
        })
        .collect();
    Ok(sold(&facts::documents(bills, orders), &amounts, &asked.period))
}

fn cells(asked: &Asked, name: Cell, s: &Sold, narrow: (Option<Species>, Option<Size>)) -> Vec<Cell> {
    let (species, size) = narrow;
    let more: Vec<(&str, String)> =
        [species.map(|s| ("species", s.to_string())), size.map(|s| ("share", s.to_string()))]
            .into_iter()
            .flatten()
            .collect();
    let mut behind = species.map_or_else(|| Behind::group(Group::Sales), |s| Behind::account(Account::of_sales(s)));
    behind = behind.of(&asked.period);
    behind.share = size;
    vec![
        name,
        Cell::count(s.shares).to(asked.to("/reports/shares", &more, "sum-shares")),
        Cell::weight(s.weight).to(asked.to("/reports/shares", &more, "sum-weight")),
        Cell::money(s.amount).behind(&behind),
        Cell::maybe_money(s.price()),
    ]
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let orders = facts::by_id(facts::orders(c)?);
    let bills = facts::bills(c)?;
    let all = by_share(c, asked, &orders, &bills)?;
    let label = asked.period.label();
    let unit = asked.unit();
    let mut table = Table::new(
        "sales-by-share",
        format!("Sold in {label}"),
        "Shares that were invoiced, less those whose invoice was taken back, without charges and tax.",
        &["Share", "Shares", &format!("Weight, {unit}"), "Sales, $", &format!("$ per {unit}")],
    );
    let mut groups = Vec::new();
    let mut together = Sold::default();
    for species in Species::ALL {
        let mine: Vec<_> = all.iter().filter(|((s, _), _)| s == species).collect();
        let sum = mine.iter().fold(Sold::default(), |sum, (_, s)| sum.plus(s));
        for ((_, size), s) in &mine {
            table.row(cells(asked, Cell::text(size.of(*species)), s, (Some(*species), Some(*size))));
            groups.push(chart::Group { label: size.of(*species), values: vec![s.amount] });
        }
        if mine.len() > 1 {
            let name = Cell::text(format!("All {}", species.label()));
            table.middle(cells(asked, name, &sum, (Some(*species), None)));
        }
        together = together.plus(&sum);
    }
    if !all.is_empty() {
        table.total(cells(asked, Cell::text("Everything"), &together, (None, None)));
    }
    let dollars = Money::from_cents(together.amount).dollars();
    let best = all.iter().max_by_key(|(_, s)| s.amount);
    let says = best.map_or("Nothing was sold.".to_string(), |((species, size), s)| {
        format!("The largest part: {}, {}.", capital(&size.of(*species)), Money::from_cents(s.amount).dollars())
    });
    Ok(Report {
        heading: match together.shares {
            1 => format!("One share sold for {dollars}"),
            n => format!("{n} shares sold for {dollars}"),
        },
        lead: format!("What was invoiced in {label}, by species and share."),
        charts: if all.is_empty() {
            Vec::new()
        } else {
            vec![Chart::rows("c-sales", format!("Sales by share, {label}"), says, &groups)]
        },
        tables: vec![table],
        notes: vec![
            "An invoice counts on the day it was issued; one that was taken back is taken off on the day of its credit note. A credit \
             note for a part lessens sales and leaves the weight."
                .into(),
            format!("The price per {unit} is sales divided by the weight that was billed; it stays empty where shares were sold without one."),
        ],
        ..Report::default()
    })
}
