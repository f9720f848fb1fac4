//! The year for the tax adviser: cash received by what it was for, and what the invoices of the year say beside it.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::costs::between;
use crate::book::ledger::behind::{by_day, by_invoice, by_order, total};
use crate::book::report::facts;
use crate::trade::costs::CostKind;
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group};
use crate::trade::report::months::Daily;
use crate::trade::share::Species;
use std::collections::{BTreeMap, HashMap};

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/tax-year", name: "Year-end summary", years_only: true, is_listed: true, make };
pages!();

const CAUTION: &str = "This is no tax return and no tax advice. It sorts the cash of the year into general groups, much as the \
farm schedule of a US return (Schedule F) does. Which figure belongs on which line, whether a deposit counts when it comes or when the \
animal is sold, and how raised and bought animals differ: ask your tax adviser.";

/// Cash of the year by species in cents: what was paid on invoices, and what was put to orders.
fn by_species(c: &mut DbConn, asked: &Asked) -> Result<BTreeMap<Species, (i64, i64)>, Failure> {
    let orders = facts::by_id(facts::orders(c)?);
    let of_bill: HashMap<_, _> = facts::bills(c)?.into_iter().map(|b| (b.id, b.order)).collect();
    let mut all: BTreeMap<Species, (i64, i64)> = BTreeMap::new();
    for ((bill, _), cents) in by_invoice(c, &Behind::group(Group::OnInvoices).of(&asked.period).with_money())? {
        let Some(order) = of_bill.get(&bill).and_then(|id| orders.get(id)) else { continue };
        let both = all.entry(order.species).or_default();
        both.0 = both.0.saturating_sub(cents);
    }
    for (order, cents) in by_order(c, &Behind::group(Group::OnOrders).of(&asked.period).with_money())? {
        let Some(order) = orders.get(&order) else { continue };
        let both = all.entry(order.species).or_default();
        both.1 = both.1.saturating_sub(cents);
    }
    Ok(all)
}

/// Balances of one year's lines on these accounts, as people read them, in cents.
fn of_accounts(lines: &[Daily], account: Account) -> i64 {
    let mine = lines.iter().filter(|l| l.account == account);
    let sum = mine.fold(0_i64, |n, l| n.saturating_add(l.debits).saturating_sub(l.credits));
    Behind::account(account).read(Money::from_cents(sum)).cents()
}

/// What costs of a kind are called where taxes are spoken of, in general words.
const fn said(kind: CostKind) -> &'static str {
    match kind {
        CostKind::Feeder => "Animals bought to be raised or fed",
        CostKind::Feed => "Feed, hay, minerals and pasture",
        CostKind::Vet => "Veterinary work and medicine",
        CostKind::Haul => "Hauling",
        CostKind::Other => "Other farm expenses",
    }
}

/// The costs entered for the year, by kind.
fn costs(c: &mut DbConn, asked: &Asked) -> Result<Table, Failure> {
    let (first, last) = asked.period.days().ok_or(Failure::NotFound)?;
    let all = between(c, first, last)?;
    let mut table = Table::new(
        "cash-paid",
        "Paid: costs that were entered",
        "By the day that stands with each cost.",
        &["For", "Amount, $"],
    );
    let sum = |kind: Option<CostKind>| {
        let mine = all.iter().filter(|(k, _)| kind.is_none_or(|wanted| wanted == *k));
        mine.fold(0_i64, |n, (_, amount)| n.saturating_add(amount.cents()))
    };
    for kind in CostKind::ALL.iter().filter(|k| sum(Some(**k)) != 0) {
        let to = asked.to("/reports/costs", &[("kind", kind.to_string())], "sum-costs");
        table.row(vec![Cell::text(said(*kind)), Cell::money(sum(Some(*kind))).to(to)]);
    }
    table.total(vec![
        Cell::text("Costs entered"),
        Cell::money(sum(None)).to(asked.to("/reports/costs", &[], "sum-costs")),
    ]);
    Ok(table)
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let year = asked.period.label();
    let species = by_species(c, asked)?;
    let theirs = Behind::group(Group::Theirs).of(&asked.period).with_money();
    let loose = theirs.read(total(c, &theirs)?).cents();
    let money = Behind::group(Group::Money).of(&asked.period);
    let cash = total(c, &money)?.cents();
    let mut received = Table::new(
        "cash-received",
        "Cash received",
        "Less what was given back or returned by the bank. By what it was for on the day it moved.",
        &["For", "Amount, $"],
    );
    let mut row = |words: String, cents: i64, behind: Behind| {
        if cents != 0 {
            received.row(vec![Cell::text(words), Cell::money(cents).behind(&behind)]);
        }
    };
    for (one, (paid, put)) in &species {
        let on = |group| Behind::group(group).of(&asked.period).with_money().species(*one);
        row(format!("Animals and meat sold: {}, paid on invoices", one.label()), *paid, on(Group::OnInvoices));
        row(format!("Animals and meat sold: {}, deposits before the invoice", one.label()), *put, on(Group::OnOrders));
    }
    row("Other: for nothing yet, or not matched to anybody yet".into(), loose, theirs);
    received.total(vec![Cell::text("Cash received"), Cell::money(cash).behind(&money)]);
    let beside = [
        (Account::Tax, "Sales tax billed, to be passed on"),
        (Account::PlantCharges, "Processor’s charges that you billed; what you pay the plant is a cost"),
        (Account::FarmCharges, "Your own charges: delivery, storage and the like"),
        (Account::Discounts, "Discounts given"),
        (Account::Forfeited, "Deposits kept from cancelled orders"),
        (Account::WriteOffs, "Written off: will not be paid"),
    ];
    let mut invoiced = Table::new(
        "beside",
        "What the invoices of the year say",
        "By day of invoice, not by day of payment. Part of what was received above is for these.",
        &["What", "Amount, $"],
    );
    let mut lines = by_day(c, &Behind::group(Group::OtherEarned).of(&asked.period))?;
    for account in [Account::Tax, Account::WriteOffs] {
        lines.extend(by_day(c, &Behind::account(account).of(&asked.period))?);
    }
    for (account, words) in beside {
        let behind = Behind::account(account).of(&asked.period);
        let cents = of_accounts(&lines, account);
        if cents != 0 {
            invoiced.row(vec![Cell::text(words), Cell::money(cents).behind(&behind)]);
        }
    }
    let paid = costs(c, asked)?;
    let held = Behind::account(Account::Deposits).up_to(asked.last());
    let still = held.read(total(c, &held)?).cents();
    let mut open = Table::new(
        "at-the-end",
        "At the end of the year, or today",
        "What was received and is not yours yet, and what was invoiced and is not paid.",
        &["What", "Amount, $"],
    );
    let owed = Behind::account(Account::Receivable).up_to(asked.last());
    let unpaid = total(c, &owed)?.cents();
    open.row(vec![Cell::text("Deposits held for orders without an invoice"), Cell::money(still).behind(&held)]);
    open.row(vec![Cell::text("Owed on invoices"), Cell::money(unpaid).behind(&owed)]);
    Ok(Report {
        heading: format!("{} received in {year}", Money::from_cents(cash).dollars()),
        lead: "Cash basis: counted on the day the money moved.".into(),
        caution: CAUTION.into(),
        tables: vec![received, paid, invoiced, open],
        notes: vec![
            "Paid are the costs that were entered, on the day that stands with each. What was never entered, such as fuel, rent or what \
             you paid the processor, is missing here; give your adviser those receipts beside this page."
                .into(),
        ],
        ..Report::default()
    })
}
