//! Overdue balances: when letters go out by themselves, who gets none, which were written, and what interest was charged.

use super::conn::DbConn;
use super::ids::{CustomerId, InvoiceId};
use super::rows::balances::{BalanceLetter, BalanceRule, BalanceStop, NewBalanceLetter, NewInterestCharge};
use super::schema::{balance_letter, balance_rule, balance_stop, interest_charge, invoice_change};
use super::store::Tx;
use crate::trade::money::Money;
use diesel::prelude::*;
use std::collections::HashMap;

/// The stored rule; none means that nothing goes out by itself and no interest is charged.
///
/// # Errors
/// The database's own.
pub fn rule(c: &mut DbConn) -> QueryResult<Option<BalanceRule>> {
    balance_rule::table.order(balance_rule::id).select(BalanceRule::as_select()).first(c).optional()
}

/// Saves the rule. `seen` is the version the form was opened with, 0 for none; `false` if somebody saved in between.
///
/// # Errors
/// The database's own.
pub fn save_rule(tx: &mut Tx, new: &BalanceRule, seen: i64) -> QueryResult<bool> {
    let c = tx.conn();
    let row = BalanceRule { version: seen.saturating_add(1), ..*new };
    if seen == 0 {
        if rule(c)?.is_some() {
            return Ok(false);
        }
        return Ok(diesel::insert_into(balance_rule::table).values(row).execute(c)? == 1);
    }
    Ok(diesel::update(balance_rule::table.filter(balance_rule::version.eq(seen))).set(row).execute(c)? == 1)
}

/// Which of these customers get no reminder by itself.
///
/// # Errors
/// The database's own.
pub fn stops(c: &mut DbConn, customers: &[CustomerId]) -> QueryResult<HashMap<CustomerId, BalanceStop>> {
    let rows: Vec<BalanceStop> = balance_stop::table
        .filter(balance_stop::customer_id.eq_any(customers.to_vec()))
        .select(BalanceStop::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|s| (s.customer_id, s)).collect())
}

/// Stops reminders for a customer; `false` if they were stopped already.
///
/// # Errors
/// The database's own.
pub fn stop(tx: &mut Tx, row: &BalanceStop) -> QueryResult<bool> {
    if !stops(tx.conn(), &[row.customer_id])?.is_empty() {
        return Ok(false);
    }
    diesel::insert_into(balance_stop::table).values(row.clone()).execute(tx.conn())?;
    Ok(true)
}

/// Lets reminders go out again; `false` if they were not stopped.
///
/// # Errors
/// The database's own.
pub fn go_on(tx: &mut Tx, customer: CustomerId) -> QueryResult<bool> {
    let row = balance_stop::table.filter(balance_stop::customer_id.eq(customer));
    Ok(diesel::delete(row).execute(tx.conn())? == 1)
}

/// Notes a letter.
///
/// # Errors
/// The database's own; a letter by schedule that went out already is refused by the table.
pub fn note(tx: &mut Tx, new: &NewBalanceLetter) -> QueryResult<()> {
    diesel::insert_into(balance_letter::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// The letters about these invoices, the first ones first.
///
/// # Errors
/// The database's own.
pub fn letters(c: &mut DbConn, invoices: &[InvoiceId]) -> QueryResult<HashMap<InvoiceId, Vec<BalanceLetter>>> {
    let rows: Vec<BalanceLetter> = balance_letter::table
        .filter(balance_letter::invoice_id.eq_any(invoices.to_vec()))
        .order(balance_letter::id)
        .select(BalanceLetter::as_select())
        .load(c)?;
    let mut all: HashMap<InvoiceId, Vec<BalanceLetter>> = HashMap::new();
    for row in rows {
        all.entry(row.invoice_id).or_default().push(row);
    }
    Ok(all)
}

/// Notes interest that was charged.
///
/// # Errors
/// The database's own; a month that was charged already is refused by the table.
pub fn note_interest(tx: &mut Tx, new: &NewInterestCharge) -> QueryResult<()> {
    diesel::insert_into(interest_charge::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// How many months of interest were charged on an invoice, and what they came to.
///
/// # Errors
/// The database's own.
pub fn interest_charged(c: &mut DbConn, id: InvoiceId) -> QueryResult<(u32, Money)> {
    let rows: Vec<(i64, Money)> = interest_charge::table
        .inner_join(invoice_change::table)
        .filter(interest_charge::invoice_id.eq(id))
        .select((interest_charge::months, invoice_change::amount))
        .load(c)?;
    let months = rows.iter().map(|(n, _)| *n).sum::<i64>();
    let cents = rows.iter().fold(0_i64, |sum, (_, m)| sum.saturating_add(m.cents()));
    Ok((u32::try_from(months).unwrap_or(u32::MAX), Money::from_cents(cents)))
}
