//! Reading the ledger: balances as of a day, and the entries behind them.

use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, EntryId, InvoiceId, ReservationId};
use crate::book::rows::ledger::{LedgerEntry, LedgerLine};
use crate::book::schema::{customer, invoice, ledger_entry, ledger_line, reservation};
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::HashMap;

/// An entry with its lines and the names of what it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The entry.
    pub entry: LedgerEntry,
    /// Its customer's name; empty when it is about nobody who is known.
    pub customer: String,
    /// Its order's number.
    pub order: Option<String>,
    /// Its invoice's number.
    pub invoice: Option<String>,
    /// Its lines in order.
    pub lines: Vec<LedgerLine>,
}

/// Where a page of entries begins: after (that is, older than) this one.
pub type Key = (NaiveDate, EntryId);

/// The balance of every account that anything was ever posted to, at the end of a day, in the order of the accounts. Debit is
/// positive.
///
/// # Errors
/// The database's own.
pub fn balances(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<(Account, Money)>> {
    let rows: Vec<(Account, Option<i64>)> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(ledger_entry::day.le(day))
        .group_by(ledger_line::account)
        .select((ledger_line::account, sql::<Nullable<BigInt>>("CAST(SUM(ledger_line.amount) AS BIGINT)")))
        .load(c)?;
    let mut out: Vec<(Account, Money)> =
        rows.into_iter().map(|(account, cents)| (account, Money::from_cents(cents.unwrap_or(0)))).collect();
    out.sort_by_key(|(account, _)| *account);
    Ok(out)
}

/// Entries up to a day, newest first, a page by key; of one account or of all.
///
/// # Errors
/// The database's own.
pub fn page(
    c: &mut DbConn,
    account: Option<Account>,
    day: NaiveDate,
    before: Option<Key>,
    limit: i64,
) -> QueryResult<Vec<Shown>> {
    let mut query = ledger_entry::table.filter(ledger_entry::day.le(day)).into_boxed();
    if let Some(account) = account {
        let on_it = ledger_line::table.filter(ledger_line::account.eq(account)).select(ledger_line::entry_id);
        query = query.filter(ledger_entry::id.eq_any(on_it));
    }
    if let Some((day, id)) = before {
        let older = ledger_entry::day.lt(day).or(ledger_entry::day.eq(day).and(ledger_entry::id.lt(id)));
        query = query.filter(older);
    }
    let entries: Vec<LedgerEntry> = query
        .order((ledger_entry::day.desc(), ledger_entry::id.desc()))
        .limit(limit)
        .select(LedgerEntry::as_select())
        .load(c)?;
    let ids: Vec<EntryId> = entries.iter().map(|e| e.id).collect();
    let lines: Vec<LedgerLine> = ledger_line::table
        .filter(ledger_line::entry_id.eq_any(ids))
        .order((ledger_line::entry_id, ledger_line::position))
        .select(LedgerLine::as_select())
        .load(c)?;
    named(c, entries, lines)
}

/// Every entry up to a day, oldest first.
///
/// # Errors
/// The database's own.
pub fn all(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<Shown>> {
    let entries: Vec<LedgerEntry> = ledger_entry::table
        .filter(ledger_entry::day.le(day))
        .order((ledger_entry::day, ledger_entry::id))
        .select(LedgerEntry::as_select())
        .load(c)?;
    let lines: Vec<LedgerLine> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(ledger_entry::day.le(day))
        .order((ledger_line::entry_id, ledger_line::position))
        .select(LedgerLine::as_select())
        .load(c)?;
    named(c, entries, lines)
}

/// Names of customers, numbers of orders and invoices.
pub(super) struct Named {
    pub(super) people: HashMap<CustomerId, String>,
    pub(super) orders: HashMap<ReservationId, String>,
    pub(super) invoices: HashMap<InvoiceId, String>,
}

/// The names of these. SQLite takes so many values in one query; for a long list whole tables are read instead.
pub(super) fn names(
    c: &mut DbConn,
    people: Vec<CustomerId>,
    orders: Vec<ReservationId>,
    invoices: Vec<InvoiceId>,
) -> QueryResult<Named> {
    const FEW: usize = 500;
    let mut who = customer::table.select((customer::id, customer::name)).into_boxed();
    let mut ordered = reservation::table.select((reservation::id, reservation::number)).into_boxed();
    let mut billed = invoice::table.select((invoice::id, invoice::number)).into_boxed();
    if people.len() <= FEW {
        who = who.filter(customer::id.eq_any(people));
        ordered = ordered.filter(reservation::id.eq_any(orders));
        billed = billed.filter(invoice::id.eq_any(invoices));
    }
    Ok(Named {
        people: who.load::<(CustomerId, String)>(c)?.into_iter().collect(),
        orders: ordered.load::<(ReservationId, String)>(c)?.into_iter().collect(),
        invoices: billed.load::<(InvoiceId, String)>(c)?.into_iter().collect(),
    })
}

fn named(c: &mut DbConn, entries: Vec<LedgerEntry>, lines: Vec<LedgerLine>) -> QueryResult<Vec<Shown>> {
    let people = entries.iter().filter_map(|e| e.customer_id).collect();
    let orders = entries.iter().filter_map(|e| e.reservation_id).collect();
    let invoices = entries.iter().filter_map(|e| e.invoice_id).collect();
    let Named { people, orders, invoices } = names(c, people, orders, invoices)?;
    let mut of: HashMap<EntryId, Vec<LedgerLine>> = HashMap::new();
    for line in lines {
        of.entry(line.entry_id).or_default().push(line);
    }
    Ok(entries
        .into_iter()
        .map(|entry| Shown {
            customer: entry.customer_id.and_then(|id| people.get(&id).cloned()).unwrap_or_default(),
            order: entry.reservation_id.and_then(|id| orders.get(&id).cloned()),
            invoice: entry.invoice_id.and_then(|id| invoices.get(&id).cloned()),
            lines: of.remove(&entry.id).unwrap_or_default(),
            entry,
        })
        .collect())
}
