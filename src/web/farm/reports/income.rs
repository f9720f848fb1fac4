//! Income month by month: on cash basis, when money moves, and on accrual basis, when it is invoiced.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ledger::behind::by_day;
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group, Half};
use crate::trade::report::months::{Income, income};
use crate::trade::report::period::{Month, Period, months};
use crate::web::look::chart::{self, Chart};

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/income", name: "Income by month", years_only: true, is_listed: true, make };
pages!();

/// The row of a month, or of all: each figure with the lines behind it.
fn cells(name: Cell, i: &Income, time: &Month) -> Vec<Cell> {
    let lines = |b: Behind| b.between(time.first, time.last);
    vec![
        name,
        Cell::money(i.came).behind(&lines(Behind::group(Group::Money)).side(Half::Debit)),
        Cell::money(i.back.saturating_neg()).behind(&lines(Behind::group(Group::Money)).side(Half::Credit)),
        Cell::money(i.cash()).behind(&lines(Behind::group(Group::Money))),
        Cell::money(i.sales).behind(&lines(Behind::group(Group::Sales))),
        Cell::money(i.other).behind(&lines(Behind::group(Group::OtherEarned))),
        Cell::money(i.lost).behind(&lines(Behind::account(Account::WriteOffs))),
        Cell::money(i.accrual()).behind(&lines(Behind::group(Group::Earned))),
    ]
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let (first, last) = asked.period.days().ok_or(Failure::NotFound)?;
    let money = by_day(c, &Behind::group(Group::Money).of(&asked.period))?;
    let earned = by_day(c, &Behind::group(Group::Earned).of(&asked.period))?;
    let lines: Vec<_> = money.into_iter().chain(earned).collect();
    let time = months(first, last);
    let each = income(&lines, &time);
    let all = each.iter().fold(Income::default(), |sum, i| sum.plus(i));
    let year = asked.period.label();
    let mut table = Table::new(
        "income-by-month",
        format!("Income of {year}"),
        "Cash basis is what came in less what was given back. Accrual basis is sales and charges less what was written off.",
        &[
            "Month",
            "Came in, $",
            "Given back, $",
            "Cash basis, $",
            "Sales, $",
            "Charges, discounts and kept deposits, $",
            "Written off, $",
            "Accrual basis, $",
        ],
    );
    for (month, one) in time.iter().zip(&each) {
        table.row(cells(Cell::text(month.label(false)), one, month));
    }
    table.total(cells(Cell::text(format!("All of {year}")), &all, &Month { first, last }));
    let groups: Vec<chart::Group> = time
        .iter()
        .zip(&each)
        .map(|(m, i)| chart::Group { label: m.short(), values: vec![i.cash(), i.accrual()] })
        .collect();
    let dollars = |cents| Money::from_cents(cents).dollars();
    let says =
        format!("On cash basis {} in the year, on accrual basis {}.", dollars(all.cash()), dollars(all.accrual()));
    Ok(Report {
        heading: format!("{} came in, {} was earned in {year}", dollars(all.cash()), dollars(all.accrual())),
        lead: "The same year counted twice: when money moved, and when it was invoiced.".into(),
        charts: vec![Chart::bars(
            "c-income",
            format!("Income by month, {year}"),
            says,
            &["cash basis", "accrual basis"],
            &groups,
        )],
        tables: vec![table],
        notes: vec![
            "Money in hand counts deposits on the day they came, also while they are held for an animal that is not invoiced, and \
             sales tax that you pass on. What was earned counts neither."
                .into(),
            "A payment that the bank returned stands under given back, on the day it came back.".into(),
        ],
        ..Report::default()
    })
}

/// Months with something in them, for a season, which has no first and last day.
pub fn months_of(period: &Period, lines: &[crate::trade::report::months::Daily]) -> Vec<Month> {
    let days = lines.iter().map(|l| l.day);
    let (first, last) = (days.clone().min(), days.max());
    let found = period.days().or_else(|| first.zip(last));
    found.map(|(first, last)| months(first, last)).unwrap_or_default()
}
