//! The ledger: every entry sums to zero, and its balances are what the documents say.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, EntryId};
use crate::book::ledger::documents::{self, Balances};
use crate::book::schema::{ledger_entry, ledger_line};
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::BTreeMap;

/// 6: every entry has lines, and they add up to zero.
pub(super) fn entries(c: &mut DbConn) -> QueryResult<Checked> {
    let entries: Vec<EntryId> = ledger_entry::table.order(ledger_entry::id).select(ledger_entry::id).load(c)?;
    let sums: BTreeMap<EntryId, Option<i64>> = ledger_line::table
        .group_by(ledger_line::entry_id)
        .select((ledger_line::entry_id, sql::<Nullable<BigInt>>("CAST(SUM(ledger_line.amount) AS BIGINT)")))
        .load::<(EntryId, Option<i64>)>(c)?
        .into_iter()
        .collect();
    let faults = entries
        .iter()
        .filter_map(|id| match sums.get(id).copied().flatten() {
            None => Some(format!("entry {id} has no lines")),
            Some(0) => None,
            Some(cents) => Some(format!("entry {id} adds up to {}", Money::from_cents(cents).dollars())),
        })
        .collect();
    Ok(Checked { rule: "6  every entry of the ledger adds up to zero", looked_at: entries.len(), faults })
}

/// 6: ledger = documents, balance by balance: money by method, deposits by order, what is owed by invoice, sales, tax, credit.
pub(super) fn equals_documents(c: &mut DbConn) -> QueryResult<Checked> {
    let (ledger, by_documents): (Balances, Balances) = (documents::by_ledger(c)?, documents::by_documents(c)?);
    let mut faults = documents::differences(&ledger, &by_documents);
    for account in [Account::Credit, Account::Refunds] {
        let sums: Vec<(Option<CustomerId>, Option<i64>)> = ledger_line::table
            .filter(ledger_line::account.eq(account))
            .group_by(ledger_line::customer_id)
            .select((ledger_line::customer_id, sql::<Nullable<BigInt>>("CAST(SUM(ledger_line.amount) AS BIGINT)")))
            .load(c)?;
        let below = sums.into_iter().filter(|(_, cents)| cents.unwrap_or(0) > 0).filter_map(|(id, _)| id);
        faults.extend(
            below.map(|id| format!("{} of customer {id} is less than nothing", account.label().to_lowercase())),
        );
    }
    Ok(Checked {
        rule: "6  the ledger’s balances are what payments, orders and invoices say",
        looked_at: ledger.len().max(by_documents.len()),
        faults,
    })
}
