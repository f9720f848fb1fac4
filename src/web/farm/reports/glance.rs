//! A season or a year at a glance.

use super::Which;
use super::income::months_of;
use super::orders::fits;
use super::page::{Asked, Report, pages};
use super::sales::by_share;
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ledger::behind::{by_day, total};
use crate::book::report::barn::Barn;
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group};
use crate::trade::report::months::{Income, income};
use crate::trade::report::people::people;
use crate::trade::report::sold::Sold;
use crate::web::look::chart::{self, Chart};

/// The report.
pub const REPORT: Which = Which { path: "/reports", name: "At a glance", years_only: false, is_listed: true, make };
pages!();

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let barn = Barn::read(c)?;
    let n = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    let listed = |list: &str| n(barn.orders.values().filter(|o| fits(o, asked, list)).count());
    let ordered: Vec<_> = barn.orders.values().filter_map(|o| o.ordered(asked.zone)).collect();
    let who = people(&ordered, &asked.period);
    let head = barn.of_period(&asked.period);
    let hung = head.iter().fold(0_i64, |sum, h| sum.saturating_add(h.weight().map_or(0, |w| w.hundredths())));
    let sold = by_share(c, asked, &barn.orders, &barn.bills)?.values().fold(Sold::default(), |sum, s| sum.plus(s));
    let earned = Behind::group(Group::Earned).of(&asked.period);
    let lines = by_day(c, &earned)?;
    let time = months_of(&asked.period, &lines);
    let each = income(&lines, &time);
    let all = each.iter().fold(Income::default(), |sum, i| sum.plus(i));
    let upto = |account| {
        let behind = Behind::account(account).up_to(asked.last());
        Behind { season: behind.clone().of(&asked.period).season, ..behind }
    };
    let (held, owed) = (upto(Account::Deposits), upto(Account::Receivable));
    let (is_held, is_owed) = (held.read(total(c, &held)?).cents(), total(c, &owed)?.cents());
    let label = asked.period.label();
    let (orders, unit) = ("/reports/orders", asked.unit());
    let list = |name: &str| asked.to(orders, &[("list", name.to_string())], "sum-orders");
    let mut table = Table::new(
        "at-a-glance",
        format!("At a glance, {label}"),
        "Each figure leads to what it is made of.",
        &["What", "Figure"],
    );
    let mut row = |words: &str, cell: Cell| table.row(vec![Cell::text(words), cell]);
    row("Shares ordered", Cell::count(listed("")).to(asked.to(orders, &[], "sum-orders")));
    row("On the waiting list", Cell::count(listed("waiting")).to(list("waiting")));
    row("Orders cancelled", Cell::count(listed("cancelled")).to(list("cancelled")));
    row("Customers", Cell::count(n(who.len())).to(asked.to("/reports/customers", &[], "sum-people")));
    let back = n(who.values().filter(|p| p.came_back()).count());
    row("of them came back", Cell::count(back).to(asked.to("/reports/customers", &[], "sum-back")));
    row("Head weighed in", Cell::count(n(head.len())).to(asked.to("/reports/animals", &[], "sum-head")));
    let hanging = format!("Hanging weight, {unit}");
    row(&hanging, Cell::weight(hung).to(asked.to("/reports/animals", &[], "sum-hung")));
    row("Shares invoiced", Cell::count(sold.shares).to(asked.to("/reports/shares", &[], "sum-shares")));
    let with = |group| Behind::group(group).of(&asked.period);
    row("Sales, $", Cell::money(all.sales).behind(&with(Group::Sales)));
    row("Charges, discounts and kept deposits, $", Cell::money(all.other).behind(&with(Group::OtherEarned)));
    row("Written off, $", Cell::money(all.lost).behind(&Behind::account(Account::WriteOffs).of(&asked.period)));
    row("Earned: sales and charges less what was written off, $", Cell::money(all.accrual()).behind(&earned));
    if asked.period.days().is_some() {
        let money = with(Group::Money);
        let cash = total(c, &money)?.cents();
        row("Money that came in, less what was given back, $", Cell::money(cash).behind(&money));
    }
    row("Deposits held, $", Cell::money(is_held).behind(&held));
    row("Owed on invoices, $", Cell::money(is_owed).behind(&owed));
    let groups: Vec<_> =
        time.iter().zip(&each).map(|(m, i)| chart::Group { label: m.short(), values: vec![i.accrual()] }).collect();
    let best = time.iter().zip(&each).max_by_key(|(_, i)| i.accrual());
    let says = best.map_or(String::new(), |(m, i)| {
        format!("The most was earned in {}: {}.", m.label(true), Money::from_cents(i.accrual()).dollars())
    });
    Ok(Report {
        heading: format!("{} earned in {label}", Money::from_cents(all.accrual()).dollars()),
        lead: match asked.period.days() {
            Some(_) => "A year: what was ordered, slaughtered, invoiced and paid from January to December.".into(),
            None => "A season: everything of its orders, whenever it was.".into(),
        },
        charts: if groups.is_empty() {
            Vec::new()
        } else {
            vec![Chart::bars("c-glance", format!("Earned by month, {label}"), says, &["earned"], &groups)]
        },
        tables: vec![table],
        ..Report::default()
    })
}
