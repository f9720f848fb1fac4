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
    /// Its customer's name.
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

fn named(c: &mut DbConn, entries: Vec<LedgerEntry>, lines: Vec<LedgerLine>) -> QueryResult<Vec<Shown>> {
    // SQLite takes so many values in one query; a long list of ids is read as a whole table instead.
    const FEW: usize = 500;
    let few = entries.len() <= FEW;
    let mut people = customer::table.select((customer::id, customer::name)).into_boxed();
    let mut orders = reservation::table.select((reservation::id, reservation::number)).into_boxed();
    let mut invoices = invoice::table.select((invoice::id, invoice::number)).into_boxed();
    if few {
        people = people.filter(customer::id.eq_any(entries.iter().map(|e| e.customer_id).collect::<Vec<_>>()));
        let ids: Vec<_> = entries.iter().filter_map(|e| e.reservation_id).collect();
        orders = orders.filter(reservation::id.eq_any(ids));
        let ids: Vec<_> = entries.iter().filter_map(|e| e.invoice_id).collect();
        invoices = invoices.filter(invoice::id.eq_any(ids));
    }
    let people: HashMap<CustomerId, String> = people.load::<(CustomerId, String)>(c)?.into_iter().collect();
    let orders: HashMap<ReservationId, String> = orders.load::<(ReservationId, String)>(c)?.into_iter().collect();
    let invoices: HashMap<InvoiceId, String> = invoices.load::<(InvoiceId, String)>(c)?.into_iter().collect();
    let mut of: HashMap<EntryId, Vec<LedgerLine>> = HashMap::new();
    for line in lines {
        of.entry(line.entry_id).or_default().push(line);
    }
    Ok(entries
        .into_iter()
        .map(|entry| Shown {
            customer: people.get(&entry.customer_id).cloned().unwrap_or_default(),
            order: entry.reservation_id.and_then(|id| orders.get(&id).cloned()),
            invoice: entry.invoice_id.and_then(|id| invoices.get(&id).cloned()),
            lines: of.remove(&entry.id).unwrap_or_default(),
            entry,
        })
        .collect())
}
