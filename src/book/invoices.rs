//! Issued invoices and credit notes: written once, never changed.

use super::conn::DbConn;
use super::ids::{ChangeId, CreditNoteId, CustomerId, InvoiceId, ReservationId};
use super::ledger::Posting;
use super::rows::invoices::{CreditNote, Invoice, InvoiceLine, NewCreditNote, NewInvoice};
use super::rows::ledger::{InvoiceChange, NewInvoiceChange};
use super::rows::people::Customer;
use super::schema::{allocation, credit_note, customer, invoice, invoice_change, invoice_line};
use super::store::Tx;
use crate::trade::ledger::What;
use crate::trade::money::Money;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Nullable};
use std::collections::HashMap;

/// Writes an issued invoice and its lines.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewInvoice, lines: &[InvoiceLine]) -> QueryResult<InvoiceId> {
    let c = tx.conn();
    let id: InvoiceId = diesel::insert_into(invoice::table).values(new.clone()).returning(invoice::id).get_result(c)?;
    for line in lines {
        diesel::insert_into(invoice_line::table).values(InvoiceLine { invoice_id: id, ..line.clone() }).execute(c)?;
    }
    Ok(id)
}

/// One invoice with its customer and its credit note.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: InvoiceId) -> QueryResult<(Invoice, Customer, Option<CreditNote>)> {
    invoice::table
        .inner_join(customer::table)
        .left_join(credit_note::table)
        .filter(invoice::id.eq(id))
        .select((Invoice::as_select(), Customer::as_select(), Option::<CreditNote>::as_select()))
        .first(c)
}

/// Writes a credit note.
///
/// # Errors
/// The database's own; a unique violation when the invoice has one.
pub fn insert_credit_note(tx: &mut Tx, new: &NewCreditNote) -> QueryResult<CreditNoteId> {
    diesel::insert_into(credit_note::table).values(new.clone()).returning(credit_note::id).get_result(tx.conn())
}

/// What is settled of these invoices: paid, written off or credited, less what was added.
///
/// # Errors
/// The database's own.
pub fn paid(c: &mut DbConn, ids: &[InvoiceId]) -> QueryResult<HashMap<InvoiceId, Money>> {
    let mut all: HashMap<InvoiceId, Money> = allocation::table
        .filter(allocation::invoice_id.eq_any(ids.to_vec()))
        .group_by(allocation::invoice_id)
        .select((allocation::invoice_id, sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)")))
        .load::<(Option<InvoiceId>, Option<i64>)>(c)?
        .into_iter()
        .filter_map(|(id, cents)| Some((id?, Money::from_cents(cents.unwrap_or(0)))))
        .collect();
    for (id, cents) in changed(c, ids)? {
        let sum = all.entry(id).or_default();
        *sum = Money::from_cents(sum.cents() - cents);
    }
    Ok(all)
}

/// What the balances of these invoices changed by other than by payment, in cents.
fn changed(c: &mut DbConn, ids: &[InvoiceId]) -> QueryResult<Vec<(InvoiceId, i64)>> {
    let rows: Vec<(InvoiceId, Option<i64>)> = invoice_change::table
        .filter(invoice_change::invoice_id.eq_any(ids.to_vec()))
        .group_by(invoice_change::invoice_id)
        .select((invoice_change::invoice_id, sql::<Nullable<BigInt>>("CAST(SUM(invoice_change.amount) AS BIGINT)")))
        .load(c)?;
    Ok(rows.into_iter().map(|(id, cents)| (id, cents.unwrap_or(0))).collect())
}

/// Changes the balance of an issued invoice other than by payment.
///
/// # Errors
/// The database's own.
pub fn change(tx: &mut Tx, posting: &mut Posting, new: &NewInvoiceChange) -> QueryResult<ChangeId> {
    let customer = invoice::table.find(new.invoice_id).select(invoice::customer_id).first(tx.conn())?;
    let step = What::Changed {
        invoice: new.invoice_id.0,
        kind: new.kind,
        species: super::ledger::species(tx.conn(), new.invoice_id)?,
        amount: new.amount,
        tax: new.tax,
    };
    posting.step(customer, step);
    diesel::insert_into(invoice_change::table).values(new.clone()).returning(invoice_change::id).get_result(tx.conn())
}

/// What an invoice's balance changed by other than by payment, oldest first.
///
/// # Errors
/// The database's own.
pub fn changes(c: &mut DbConn, id: InvoiceId) -> QueryResult<Vec<InvoiceChange>> {
    invoice_change::table
        .filter(invoice_change::invoice_id.eq(id))
        .order(invoice_change::id)
        .select(InvoiceChange::as_select())
        .load(c)
}

/// Adds to a posting that every change of an invoice is undone, because the invoice is taken back.
///
/// # Errors
/// The database's own.
pub fn take_changes_back(c: &mut DbConn, posting: &mut Posting, id: InvoiceId) -> QueryResult<()> {
    let customer = invoice::table.find(id).select(invoice::customer_id).first(c)?;
    let species = super::ledger::species(c, id)?;
    for one in changes(c, id)? {
        let (amount, tax) = (one.amount.negated(), one.tax.negated());
        posting.step(customer, What::Changed { invoice: id.0, kind: one.kind, species, amount, tax });
    }
    Ok(())
}

/// What an invoice still lacks, as SQL.
const OWED: &str = "invoice.farm_total + invoice.farm_tax - COALESCE((SELECT SUM(a.amount) FROM allocation a WHERE a.invoice_id = invoice.id), 0) \
    + COALESCE((SELECT SUM(k.amount) FROM invoice_change k WHERE k.invoice_id = invoice.id), 0)";

/// An invoice with its customer and what is still owed on it.
pub type Open = (Invoice, Customer, Money);

fn with_owed(c: &mut DbConn, rows: Vec<(Invoice, Customer)>) -> QueryResult<Vec<Open>> {
    let sums = paid(c, &rows.iter().map(|(i, _)| i.id).collect::<Vec<_>>())?;
    Ok(rows
        .into_iter()
        .map(|(i, who)| {
            let owed = i.farm_total.cents() + i.farm_tax.cents() - sums.get(&i.id).map_or(0, |m| m.cents());
            (i, who, Money::from_cents(owed))
        })
        .collect())
}

/// Invoices with something owed on them, the longest due first; of one customer or of all.
///
/// # Errors
/// The database's own.
pub fn open(c: &mut DbConn, of: Option<CustomerId>, limit: i64) -> QueryResult<Vec<Open>> {
    let mut query = invoice::table
        .inner_join(customer::table)
        .left_join(credit_note::table)
        .filter(credit_note::id.nullable().is_null())
        .filter(sql::<Bool>(&format!("{OWED} > 0")))
        .into_boxed();
    if let Some(of) = of {
        query = query.filter(invoice::customer_id.eq(of));
    }
    let rows = query
        .order((invoice::due_on.is_null(), invoice::due_on, invoice::id))
        .limit(limit)
        .select((Invoice::as_select(), Customer::as_select()))
        .load(c)?;
    with_owed(c, rows)
}

/// How many good invoices have something owed on them.
///
/// # Errors
/// The database's own.
pub fn count_open(c: &mut DbConn) -> QueryResult<i64> {
    invoice::table
        .left_join(credit_note::table)
        .filter(credit_note::id.nullable().is_null())
        .filter(sql::<Bool>(&format!("{OWED} > 0")))
        .count()
        .get_result(c)
}

/// How many good invoices with something owed on them are due before a day.
///
/// # Errors
/// The database's own.
pub fn count_overdue(c: &mut DbConn, today: chrono::NaiveDate) -> QueryResult<i64> {
    invoice::table
        .left_join(credit_note::table)
        .filter(credit_note::id.nullable().is_null())
        .filter(invoice::due_on.lt(today))
        .filter(sql::<Bool>(&format!("{OWED} > 0")))
        .count()
        .get_result(c)
}

/// All invoices, newest first, a page by key; with what is owed and whether voided.
///
/// # Errors
/// The database's own.
pub fn page(c: &mut DbConn, before: Option<InvoiceId>, limit: i64) -> QueryResult<Vec<(Open, Option<String>)>> {
    let mut query = invoice::table.inner_join(customer::table).left_join(credit_note::table).into_boxed();
    if let Some(before) = before {
        query = query.filter(invoice::id.lt(before));
    }
    let rows: Vec<(Invoice, Customer, Option<String>)> = query
        .order(invoice::id.desc())
        .limit(limit)
        .select((Invoice::as_select(), Customer::as_select(), credit_note::number.nullable()))
        .load(c)?;
    let notes: Vec<Option<String>> = rows.iter().map(|r| r.2.clone()).collect();
    let open = with_owed(c, rows.into_iter().map(|(i, w, _)| (i, w)).collect())?;
    Ok(open.into_iter().zip(notes).collect())
}

/// Every invoice of an order, oldest first, with its credit note's number.
///
/// # Errors
/// The database's own.
pub fn of_order(
    c: &mut DbConn,
    id: ReservationId,
) -> QueryResult<Vec<(InvoiceId, String, Option<(CreditNoteId, String)>)>> {
    invoice::table
        .left_join(credit_note::table)
        .filter(invoice::reservation_id.eq(id))
        .order(invoice::id)
        .select((invoice::id, invoice::number, (credit_note::id, credit_note::number).nullable()))
        .load(c)
}

/// Everything owed on good invoices, and what of it is late on a day.
///
/// # Errors
/// The database's own.
pub fn owed_in_all(c: &mut DbConn, today: chrono::NaiveDate) -> QueryResult<(Money, Money)> {
    let good = || {
        invoice::table
            .left_join(credit_note::table)
            .filter(credit_note::id.nullable().is_null())
            .filter(sql::<Bool>(&format!("{OWED} > 0")))
    };
    let sum = || sql::<Nullable<BigInt>>(&format!("CAST(SUM({OWED}) AS BIGINT)"));
    let all: Option<i64> = good().select(sum()).first(c)?;
    let late: Option<i64> = good().filter(invoice::due_on.lt(today)).select(sum()).first(c)?;
    Ok((Money::from_cents(all.unwrap_or(0)), Money::from_cents(late.unwrap_or(0))))
}
