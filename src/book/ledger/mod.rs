//! The ledger: posting what an act did to the accounts, in the transaction of the act.
//!
//! Money moves through [`super::payments`] and [`super::invoices`] only, and what moves it there asks for the act's
//! [`Posting`]; so no act can forget the ledger. The rules are [`crate::trade::ledger`].

pub mod behind;
pub mod carry_over;
pub mod documents;
pub mod read;
pub mod statement;

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, EntryId, InvoiceId, PaymentId, ReservationId};
use super::payments::For;
use super::rows::ledger::{LedgerLine, NewLedgerEntry};
use super::schema::{invoice, invoice_line, ledger_entry, ledger_line, offering, reservation};
use super::store::Tx;
use crate::trade::ledger::{self, Account, Act, Billed, Step, What};
use crate::trade::money::{Money, Overflow};
use crate::trade::share::Species;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::BTreeSet;

/// Why an act could not be posted. Nothing of the act may stay then.
#[derive(Debug, thiserror::Error)]
pub enum PostError {
    /// The database's own.
    #[error(transparent)]
    Db(#[from] diesel::result::Error),
    /// A sum is larger than can be recorded.
    #[error(transparent)]
    Overflow(#[from] Overflow),
    /// The lines do not add up to zero: a fault of the program.
    #[error("an entry of the ledger does not add up to zero")]
    Unbalanced,
}

/// What an act does to the accounts, gathered while it is done.
#[derive(Debug, Clone)]
#[must_use = "an act is in the ledger only when it is posted"]
pub struct Posting {
    head: NewLedgerEntry,
    steps: Vec<Step>,
}

impl Posting {
    /// The posting of an act about a customer, counting for a day.
    pub fn new(kind: Act, day: NaiveDate, customer: CustomerId, actor: &str, made_at: At) -> Self {
        Self::about(kind, day, Some(customer), actor, made_at)
    }
    /// The posting of an act about a customer, or about nobody who is known.
    pub fn about(kind: Act, day: NaiveDate, customer: Option<CustomerId>, actor: &str, made_at: At) -> Self {
        let head = NewLedgerEntry {
            kind,
            day,
            customer_id: customer,
            reservation_id: None,
            invoice_id: None,
            payment_id: None,
            note: String::new(),
            actor: actor.to_string(),
            made_at,
        };
        Self { head, steps: Vec::new() }
    }
    /// The order it is about.
    pub fn order(mut self, id: ReservationId) -> Self {
        self.head.reservation_id = Some(id);
        self
    }
    /// The invoice it is about.
    pub fn invoice(mut self, id: InvoiceId) -> Self {
        self.head.invoice_id = Some(id);
        self
    }
    /// The act in words, such as the reason.
    pub fn note(mut self, words: impl Into<String>) -> Self {
        self.head.note = words.into();
        self
    }
    /// The payment it is about; the first one stays.
    pub fn payment(&mut self, id: PaymentId) {
        self.head.payment_id.get_or_insert(id);
    }
    /// Adds a step.
    pub fn step(&mut self, customer: CustomerId, what: What) {
        self.steps.push(Step { customer: Some(customer.0), what });
    }
    /// Adds a step about nobody who is known.
    pub fn step_of_nobody(&mut self, what: What) {
        self.steps.push(Step { customer: None, what });
    }
    /// Adds that a part of a payment was put to something, or (below zero) taken away from it.
    ///
    /// # Errors
    /// The database's own.
    pub fn put(&mut self, c: &mut DbConn, what: For, amount: Money) -> QueryResult<()> {
        let (customer, step) = match what {
            For::Order(id) => {
                let (customer, cancelled): (CustomerId, Option<At>) = reservation::table
                    .find(id)
                    .select((reservation::customer_id, reservation::cancelled_at))
                    .first(c)?;
                // What stands with a cancelled order is kept.
                let step = if cancelled.is_some() { What::Kept(id.0, amount) } else { What::Held(id.0, amount) };
                (customer, step)
            }
            For::Invoice(id) => {
                (invoice::table.find(id).select(invoice::customer_id).first(c)?, What::Paid(id.0, amount))
            }
        };
        self.step(customer, step);
        Ok(())
    }
    /// Adds that an invoice was issued, or with `back` taken back, from its stored lines.
    ///
    /// # Errors
    /// The database's own.
    pub fn billed(&mut self, c: &mut DbConn, id: InvoiceId, back: bool) -> QueryResult<()> {
        let customer = invoice::table.find(id).select(invoice::customer_id).first(c)?;
        let step = What::Invoiced { invoice: id.0, species: species(c, id)?, lines: billed_lines(c, id)?, back };
        self.step(customer, step);
        Ok(())
    }
}

/// What an invoice's shares are of.
///
/// # Errors
/// The database's own.
pub fn species(c: &mut DbConn, id: InvoiceId) -> QueryResult<Species> {
    invoice::table
        .inner_join(reservation::table.inner_join(offering::table))
        .filter(invoice::id.eq(id))
        .select(offering::species)
        .first(c)
}

fn billed_lines(c: &mut DbConn, id: InvoiceId) -> QueryResult<Vec<Billed>> {
    type Row = (crate::trade::vocabulary::LineKind, crate::trade::vocabulary::BilledBy, Money, Money);
    let rows: Vec<Row> = invoice_line::table
        .filter(invoice_line::invoice_id.eq(id))
        .order(invoice_line::position)
        .select((invoice_line::kind, invoice_line::billed_by, invoice_line::amount, invoice_line::tax))
        .load(c)?;
    Ok(rows.into_iter().map(|(kind, by, amount, tax)| Billed { kind, by, amount, tax }).collect())
}

/// What a customer has on an account of the farm's debts; more than nothing when the farm owes it.
///
/// # Errors
/// The database's own.
pub fn owed_to(c: &mut DbConn, customer: CustomerId, account: Account) -> QueryResult<Money> {
    let sum: Option<i64> = ledger_line::table
        .filter(ledger_line::customer_id.eq(customer))
        .filter(ledger_line::account.eq(account))
        .select(sql::<Nullable<BigInt>>("CAST(SUM(ledger_line.amount) AS BIGINT)"))
        .first(c)?;
    Ok(Money::from_cents(sum.unwrap_or(0)).negated())
}

/// Writes the entry of an act; none when nothing is left of it.
///
/// # Errors
/// [`PostError`].
pub fn post(tx: &mut Tx, posting: Posting) -> Result<Option<EntryId>, PostError> {
    post_on(tx.conn(), posting)
}

pub(super) fn post_on(c: &mut DbConn, mut posting: Posting) -> Result<Option<EntryId>, PostError> {
    let customers: BTreeSet<i64> = posting.steps.iter().filter_map(|s| s.customer).collect();
    for id in customers {
        let (credit, promised) =
            (owed_to(c, CustomerId(id), Account::Credit)?, owed_to(c, CustomerId(id), Account::Refunds)?);
        let drawn = ledger::drawn(&posting.steps, id, credit, promised)?;
        if !drawn.is_zero() {
            posting.step(CustomerId(id), What::Promised(drawn.negated()));
        }
    }
    let lines = ledger::lines(&posting.steps)?;
    if !ledger::balanced(&lines) {
        return Err(PostError::Unbalanced);
    }
    if lines.is_empty() {
        return Ok(None);
    }
    let id: EntryId =
        diesel::insert_into(ledger_entry::table).values(posting.head).returning(ledger_entry::id).get_result(c)?;
    let rows: Vec<LedgerLine> = (0_i64..)
        .zip(lines)
        .map(|(position, (place, amount))| LedgerLine {
            entry_id: id,
            position,
            account: place.account,
            amount,
            customer_id: place.customer.map(CustomerId),
            reservation_id: place.order.map(ReservationId),
            invoice_id: place.invoice.map(InvoiceId),
        })
        .collect();
    for row in rows {
        diesel::insert_into(ledger_line::table).values(row).execute(c)?;
    }
    Ok(Some(id))
}
