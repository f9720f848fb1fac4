//! One customer's account over a period, from the ledger: what was billed, what came in, what went back.

use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, EntryId, InvoiceId, ReservationId};
use crate::book::schema::{invoice, ledger_entry, ledger_line, reservation};
use crate::trade::ledger::{Account, Act};
use crate::trade::money::Money;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// The accounts that together are what a customer owes (more than nothing) or is owed.
pub const THEIRS: [Account; 4] = [Account::Receivable, Account::Deposits, Account::Credit, Account::Refunds];

/// What one act changed of a customer's account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The day.
    pub day: NaiveDate,
    /// The act.
    pub kind: Act,
    /// The number of the order it is about.
    pub order: Option<String>,
    /// The number of the invoice it is about.
    pub invoice: Option<String>,
    /// For storage and interest, through which day, in words of ours; else empty, because notes are the farm's own.
    pub through: String,
    /// Added to what they owe; below zero when taken off.
    pub amount: Money,
    /// What they owe after it.
    pub balance: Money,
}

/// A customer's account over a period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// What they owed before the first day; below zero when they had something with the farm.
    pub opening: Money,
    /// What changed it, in order of days.
    pub changes: Vec<Change>,
    /// What they owe after the last day.
    pub closing: Money,
    /// What the closing balance is made up of: each account with something on it, debit positive.
    pub made_of: Vec<(Account, Money)>,
}

/// The statement of a customer from one day through another.
///
/// # Errors
/// The database's own.
pub fn statement(c: &mut DbConn, who: CustomerId, from: NaiveDate, to: NaiveDate) -> QueryResult<Statement> {
    type Row = (NaiveDate, EntryId, Act, Option<ReservationId>, Option<InvoiceId>, String, Account, Money);
    let rows: Vec<Row> = ledger_line::table
        .inner_join(ledger_entry::table)
        .filter(ledger_line::customer_id.eq(who))
        .filter(ledger_line::account.eq_any(THEIRS))
        .filter(ledger_entry::day.le(to))
        .order((ledger_entry::day, ledger_entry::id, ledger_line::position))
        .select((
            ledger_entry::day,
            ledger_entry::id,
            ledger_entry::kind,
            ledger_entry::reservation_id,
            ledger_entry::invoice_id,
            ledger_entry::note,
            ledger_line::account,
            ledger_line::amount,
        ))
        .load(c)?;
    let orders: HashMap<ReservationId, String> = reservation::table
        .filter(reservation::id.eq_any(rows.iter().filter_map(|r| r.3).collect::<Vec<_>>()))
        .select((reservation::id, reservation::number))
        .load::<(ReservationId, String)>(c)?
        .into_iter()
        .collect();
    let invoices: HashMap<InvoiceId, String> = invoice::table
        .filter(invoice::id.eq_any(rows.iter().filter_map(|r| r.4).collect::<Vec<_>>()))
        .select((invoice::id, invoice::number))
        .load::<(InvoiceId, String)>(c)?
        .into_iter()
        .collect();
    let (mut opening, mut balance) = (0_i64, 0_i64);
    let mut of_account: HashMap<Account, i64> = HashMap::new();
    let mut changes: Vec<(EntryId, Change)> = Vec::new();
    for (day, id, kind, order, bill, note, account, amount) in rows {
        *of_account.entry(account).or_default() += amount.cents();
        balance += amount.cents();
        if day < from {
            opening = balance;
            continue;
        }
        match changes.last_mut() {
            Some((last, change)) if *last == id => {
                change.amount = Money::from_cents(change.amount.cents() + amount.cents());
                change.balance = Money::from_cents(balance);
            }
            _ => {
                let change = Change {
                    day,
                    kind,
                    order: order.and_then(|id| orders.get(&id).cloned()),
                    invoice: bill.and_then(|id| invoices.get(&id).cloned()),
                    through: if matches!(kind, Act::Storage | Act::Interest) { note } else { String::new() },
                    amount,
                    balance: Money::from_cents(balance),
                };
                changes.push((id, change));
            }
        }
    }
    let made_of = THEIRS
        .iter()
        .map(|account| (*account, Money::from_cents(of_account.get(account).copied().unwrap_or(0))))
        .filter(|(_, amount)| !amount.is_zero())
        .collect();
    Ok(Statement {
        opening: Money::from_cents(opening),
        // What only moved between their own accounts changes nothing for them.
        changes: changes.into_iter().map(|(_, change)| change).filter(|k| !k.amount.is_zero()).collect(),
        closing: Money::from_cents(balance),
        made_of,
    })
}
