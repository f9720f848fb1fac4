//! The lines of the ledger behind a figure of a report: their sum, the lines themselves page by page, and sums by day, invoice
//! and order. One condition serves them all, so that a figure and the lines it leads to cannot differ.

use super::read::{Named, names};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, CustomerId, EntryId, InvoiceId, ProcessorId, ReservationId};
use crate::book::rows::ledger::{LedgerEntry, LedgerLine};
use crate::book::schema::{
    animal, invoice, ledger_entry, ledger_line, offering, placement, processing_date, reservation,
};
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group, Half};
use crate::trade::report::months::Daily;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Nullable};
use std::collections::BTreeMap;

type Source = diesel::helper_types::InnerJoinQuerySource<ledger_line::table, ledger_entry::table>;
type Engine = <DbConn as Connection>::Backend;
type Condition = Box<dyn BoxableExpression<Source, Engine, SqlType = Nullable<Bool>>>;

const SUM: &str = "CAST(SUM(ledger_line.amount) AS BIGINT)";
const DEBITS: &str = "CAST(SUM(CASE WHEN ledger_line.amount > 0 THEN ledger_line.amount ELSE 0 END) AS BIGINT)";
const CREDITS: &str = "CAST(SUM(CASE WHEN ledger_line.amount < 0 THEN -ledger_line.amount ELSE 0 END) AS BIGINT)";

diesel::allow_columns_to_appear_in_same_group_by_clause!(ledger_entry::day, ledger_line::account);

/// Lines of these orders, or of their invoices: a query, and its column with the orders.
macro_rules! of_orders {
    ($orders:expr, $id:expr) => {{
        let billed =
            invoice::table.filter(invoice::reservation_id.eq_any($orders.select($id))).select(invoice::id.nullable());
        let billed = ledger_line::invoice_id.is_not_null().and(ledger_line::invoice_id.eq_any(billed));
        let ordered = ledger_line::reservation_id.eq_any($orders.select($id.nullable()));
        billed.or(ledger_line::reservation_id.is_not_null().and(ordered))
    }};
}

fn condition(b: &Behind) -> Condition {
    let mut all: Condition = Box::new(ledger_line::account.eq_any(b.on.accounts()).nullable());
    if let Some(from) = b.from {
        all = Box::new(all.and(ledger_entry::day.ge(from)));
    }
    if let Some(to) = b.to {
        all = Box::new(all.and(ledger_entry::day.le(to)));
    }
    match b.side {
        Some(Half::Debit) => all = Box::new(all.and(ledger_line::amount.gt(Money::ZERO))),
        Some(Half::Credit) => all = Box::new(all.and(ledger_line::amount.lt(Money::ZERO))),
        None => {}
    }
    if let Some(id) = b.customer {
        all = Box::new(all.and(ledger_line::customer_id.eq(CustomerId(id))));
    }
    if b.with_money {
        let others = diesel::alias!(ledger_line as money_line);
        let moving = others
            .filter(others.field(ledger_line::account).eq_any(Group::Money.accounts()))
            .select(others.field(ledger_line::entry_id));
        all = Box::new(all.and(ledger_entry::id.eq_any(moving)));
    }
    let sold = || reservation::table.inner_join(offering::table);
    if let Some(species) = b.species {
        all = Box::new(all.and(of_orders!(sold().filter(offering::species.eq(species)), reservation::id)));
    }
    if let Some(season) = &b.season {
        all = Box::new(all.and(of_orders!(sold().filter(offering::season.eq(season.clone())), reservation::id)));
    }
    if let Some(size) = b.share {
        all = Box::new(all.and(of_orders!(reservation::table.filter(reservation::size.eq(size)), reservation::id)));
    }
    let hangs = placement::reservation_id;
    if let Some(id) = b.animal {
        all = Box::new(all.and(of_orders!(placement::table.filter(placement::animal_id.eq(AnimalId(id))), hangs)));
    }
    if let Some(id) = b.plant {
        let dated = || placement::table.inner_join(animal::table.inner_join(processing_date::table));
        let there = || dated().filter(processing_date::processor_id.eq(ProcessorId(id)));
        all = Box::new(all.and(of_orders!(there(), hangs)));
    }
    all
}

/// The sum of the lines, debits less credits.
///
/// # Errors
/// The database's own.
pub fn total(c: &mut DbConn, behind: &Behind) -> QueryResult<Money> {
    let sum: Option<i64> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(condition(behind))
        .select(sql::<Nullable<BigInt>>(SUM))
        .first(c)?;
    Ok(Money::from_cents(sum.unwrap_or(0)))
}

/// The lines added up by day and account.
///
/// # Errors
/// The database's own.
pub fn by_day(c: &mut DbConn, behind: &Behind) -> QueryResult<Vec<Daily>> {
    let rows: Vec<(NaiveDate, Account, Option<i64>, Option<i64>)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(condition(behind))
        .group_by((ledger_entry::day, ledger_line::account))
        .select((
            ledger_entry::day,
            ledger_line::account,
            sql::<Nullable<BigInt>>(DEBITS),
            sql::<Nullable<BigInt>>(CREDITS),
        ))
        .load(c)?;
    let mut all: Vec<Daily> = rows
        .into_iter()
        .map(|(day, account, d, c)| Daily { day, account, debits: d.unwrap_or(0), credits: c.unwrap_or(0) })
        .collect();
    all.sort_by_key(|l| (l.day, l.account));
    Ok(all)
}

/// The lines of invoices added up by account and invoice, debits less credits in cents; lines of no invoice are left out.
///
/// # Errors
/// The database's own.
pub fn by_invoice(c: &mut DbConn, behind: &Behind) -> QueryResult<BTreeMap<(InvoiceId, Account), i64>> {
    let rows: Vec<(Option<InvoiceId>, Account, Option<i64>)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(condition(behind))
        .group_by((ledger_line::invoice_id, ledger_line::account))
        .select((ledger_line::invoice_id, ledger_line::account, sql::<Nullable<BigInt>>(SUM)))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, account, cents)| Some(((id?, account), cents.unwrap_or(0)))).collect())
}

/// The lines of orders added up by order, debits less credits in cents; lines of no order are left out.
///
/// # Errors
/// The database's own.
pub fn by_order(c: &mut DbConn, behind: &Behind) -> QueryResult<BTreeMap<ReservationId, i64>> {
    let rows: Vec<(Option<ReservationId>, Option<i64>)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(condition(behind))
        .group_by(ledger_line::reservation_id)
        .select((ledger_line::reservation_id, sql::<Nullable<BigInt>>(SUM)))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, cents)| Some((id?, cents.unwrap_or(0)))).collect())
}

/// The lines added up by customer, debits less credits in cents.
///
/// # Errors
/// The database's own.
pub fn by_customer(c: &mut DbConn, behind: &Behind) -> QueryResult<BTreeMap<CustomerId, i64>> {
    let rows: Vec<(Option<CustomerId>, Option<i64>)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(condition(behind))
        .group_by(ledger_line::customer_id)
        .select((ledger_line::customer_id, sql::<Nullable<BigInt>>(SUM)))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, cents)| Some((id?, cents.unwrap_or(0)))).collect())
}

/// Where a page of lines begins: after (that is, older than) this one.
pub type Key = (NaiveDate, EntryId, i64);

/// A line with the entry it stands in and the names of what both are about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counted {
    /// The entry.
    pub entry: LedgerEntry,
    /// The line.
    pub line: LedgerLine,
    /// Whose line it is; empty for money that is not matched yet.
    pub customer: String,
    /// The order of the line, or of its entry.
    pub order: Option<(ReservationId, String)>,
    /// The invoice of the line, or of its entry.
    pub invoice: Option<(InvoiceId, String)>,
}

/// The lines, newest first, a page by key.
///
/// # Errors
/// The database's own.
pub fn page(c: &mut DbConn, behind: &Behind, before: Option<Key>, limit: i64) -> QueryResult<Vec<Counted>> {
    let mut wanted = condition(behind);
    if let Some((day, id, position)) = before {
        let same = ledger_entry::day.eq(day);
        wanted = Box::new(
            wanted.and(
                ledger_entry::day
                    .lt(day)
                    .or(same.and(ledger_entry::id.lt(id)))
                    .or(same.and(ledger_entry::id.eq(id)).and(ledger_line::position.gt(position))),
            ),
        );
    }
    let rows: Vec<(LedgerEntry, LedgerLine)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(wanted)
        .order((ledger_entry::day.desc(), ledger_entry::id.desc(), ledger_line::position))
        .limit(limit)
        .select((LedgerEntry::as_select(), LedgerLine::as_select()))
        .load(c)?;
    let people = rows.iter().filter_map(|(_, l)| l.customer_id).collect();
    let orders = rows.iter().filter_map(|(e, l)| l.reservation_id.or(e.reservation_id)).collect();
    let invoices = rows.iter().filter_map(|(e, l)| l.invoice_id.or(e.invoice_id)).collect();
    let Named { people, orders, invoices } = names(c, people, orders, invoices)?;
    Ok(rows
        .into_iter()
        .map(|(entry, line)| Counted {
            customer: line.customer_id.and_then(|id| people.get(&id).cloned()).unwrap_or_default(),
            order: line.reservation_id.or(entry.reservation_id).and_then(|id| Some((id, orders.get(&id)?.clone()))),
            invoice: line.invoice_id.or(entry.invoice_id).and_then(|id| Some((id, invoices.get(&id)?.clone()))),
            entry,
            line,
        })
        .collect())
}
