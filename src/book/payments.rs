//! Money received and given back, what it is for, and receipts.

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, InvoiceId, PaymentId, ReceiptId, ReservationId, UnmatchedId};
use super::ledger::Posting;
use super::rows::ledger::PaymentPair;
use super::rows::money::{NewPayment, NewReceipt, Payment, Receipt};
use super::schema::{allocation, payment, payment_pair, receipt};
use super::store::Tx;
use crate::trade::ledger::{PairKind, What};
use crate::trade::money::Money;
use crate::trade::vocabulary::PaymentKind;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::HashMap;

/// What a part of a payment is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum For {
    /// Deposit on an order.
    Order(ReservationId),
    /// An invoice.
    Invoice(InvoiceId),
}

/// Records a payment: money that came in, or was given back. It stands as the customer's credit, or is taken from it.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, posting: &mut Posting, new: &NewPayment) -> QueryResult<PaymentId> {
    let id = insert_row(tx, new)?;
    posting.payment(id);
    posting.step(
        new.customer_id,
        match new.kind {
            PaymentKind::Received => What::Received(new.method, new.amount),
            PaymentKind::Refund => What::GivenBack(new.method, new.amount),
        },
    );
    Ok(id)
}

/// Records that money which was not matched is this customer's: `new` is the payment it becomes. It stands as the customer's credit.
///
/// # Errors
/// `NotFound` when it was matched or given back before; the database's own.
pub fn insert_matched(
    tx: &mut Tx,
    posting: &mut Posting,
    unmatched: UnmatchedId,
    new: &NewPayment,
) -> QueryResult<PaymentId> {
    let id = insert_row(tx, new)?;
    if !super::unmatched::became(tx, unmatched, id)? {
        return Err(diesel::result::Error::NotFound);
    }
    posting.payment(id);
    posting.step(new.customer_id, What::Matched(new.amount));
    Ok(id)
}

fn insert_row(tx: &mut Tx, new: &NewPayment) -> QueryResult<PaymentId> {
    diesel::insert_into(payment::table).values(new.clone()).returning(payment::id).get_result(tx.conn())
}

fn pair(tx: &mut Tx, first_id: PaymentId, second_id: PaymentId, kind: PairKind) -> QueryResult<()> {
    diesel::insert_into(payment_pair::table)
        .values(PaymentPair { second_id, first_id, kind })
        .execute(tx.conn())
        .map(|_| ())
}

/// Undoes a payment the bank took back: `new` is the refund that does it, of the same customer, method and amount.
///
/// # Errors
/// The database's own.
pub fn insert_undoing(
    tx: &mut Tx,
    posting: &mut Posting,
    first: PaymentId,
    new: &NewPayment,
) -> QueryResult<PaymentId> {
    let id = insert_row(tx, new)?;
    pair(tx, first, id, PairKind::Bounced)?;
    posting.payment(first);
    posting.step(new.customer_id, What::Bounced(new.method, new.amount));
    Ok(id)
}

/// Moves credit from one customer to another; no money changes hands. `new` is what the taker receives.
///
/// # Errors
/// The database's own.
pub fn insert_moved(tx: &mut Tx, posting: &mut Posting, from: CustomerId, new: &NewPayment) -> QueryResult<PaymentId> {
    let given = NewPayment { customer_id: from, kind: PaymentKind::Refund, ..new.clone() };
    let (first, second) = (insert_row(tx, &given)?, insert_row(tx, new)?);
    pair(tx, first, second, PairKind::Moved)?;
    posting.payment(second);
    posting.step(from, What::Sent(new.amount));
    posting.step(new.customer_id, What::Got(new.amount));
    Ok(second)
}

/// Says what a part of a payment is for; a negative amount takes it away again. Nothing is written for zero.
///
/// # Errors
/// The database's own.
pub fn allocate(
    tx: &mut Tx,
    posting: &mut Posting,
    id: PaymentId,
    what: For,
    amount: Money,
    at: At,
) -> QueryResult<()> {
    if amount.is_zero() {
        return Ok(());
    }
    posting.put(tx.conn(), what, amount)?;
    let (order, invoice) = match what {
        For::Order(id) => (Some(id), None),
        For::Invoice(id) => (None, Some(id)),
    };
    diesel::insert_into(allocation::table)
        .values((
            allocation::payment_id.eq(id),
            allocation::reservation_id.eq(order),
            allocation::invoice_id.eq(invoice),
            allocation::amount.eq(amount),
            allocation::made_at.eq(at),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Part of one payment that stands for an order or an invoice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// The payment.
    pub payment: Payment,
    /// How much of it.
    pub amount: Money,
    /// Its receipt, if one was made.
    pub receipt: Option<String>,
    /// Whether it came in as a deposit, for an order; else it came in for an invoice.
    pub was_deposit: bool,
}

/// The payments that stand for these orders or invoices now, oldest first, with how much of each.
///
/// # Errors
/// The database's own.
pub fn held_for(c: &mut DbConn, what: &[For]) -> QueryResult<Vec<(For, Held)>> {
    let orders: Vec<ReservationId> =
        what.iter().filter_map(|w| if let For::Order(id) = w { Some(*id) } else { None }).collect();
    let invoices: Vec<InvoiceId> =
        what.iter().filter_map(|w| if let For::Invoice(id) = w { Some(*id) } else { None }).collect();
    type Sum = (PaymentId, Option<ReservationId>, Option<InvoiceId>, Option<i64>);
    let rows: Vec<Sum> = allocation::table
        .filter(allocation::reservation_id.eq_any(orders).or(allocation::invoice_id.eq_any(invoices)))
        .group_by((allocation::payment_id, allocation::reservation_id, allocation::invoice_id))
        .select((
            allocation::payment_id,
            allocation::reservation_id,
            allocation::invoice_id,
            sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)"),
        ))
        .load(c)?;
    let ids: Vec<PaymentId> = rows.iter().map(|r| r.0).collect();
    let payments: HashMap<PaymentId, Payment> = payment::table
        .filter(payment::id.eq_any(ids.clone()))
        .select(Payment::as_select())
        .load(c)?
        .into_iter()
        .map(|p: Payment| (p.id, p))
        .collect();
    let receipts: HashMap<PaymentId, String> = receipt::table
        .filter(receipt::payment_id.eq_any(ids))
        .order(receipt::id)
        .select((receipt::payment_id, receipt::number))
        .load(c)?
        .into_iter()
        .collect();
    let first: HashMap<PaymentId, bool> = allocation::table
        .filter(allocation::payment_id.eq_any(payments.keys().copied().collect::<Vec<_>>()))
        .order(allocation::id.desc())
        .select((allocation::payment_id, allocation::reservation_id.is_not_null()))
        .load(c)?
        .into_iter()
        // The oldest comes last and stays.
        .collect();
    let mut out: Vec<(For, Held)> = rows
        .into_iter()
        .filter_map(|(id, order, invoice, cents)| {
            let amount = Money::from_cents(cents.unwrap_or(0));
            let what = order.map(For::Order).or(invoice.map(For::Invoice))?;
            let payment = payments.get(&id)?.clone();
            let (receipt, was_deposit) = (receipts.get(&id).cloned(), first.get(&id).copied().unwrap_or(true));
            amount.is_positive().then_some((what, Held { payment, amount, receipt, was_deposit }))
        })
        .collect();
    out.sort_by_key(|(_, h)| (h.payment.received_on, h.payment.id));
    Ok(out)
}

/// What stands for one order or invoice now.
///
/// # Errors
/// The database's own.
pub fn held(c: &mut DbConn, what: For) -> QueryResult<Vec<Held>> {
    Ok(held_for(c, &[what])?.into_iter().map(|(_, h)| h).collect())
}

/// Moves everything held for one thing to another, or (with none) back to the customer's credit; each part that moved.
///
/// # Errors
/// The database's own.
pub fn move_all(tx: &mut Tx, posting: &mut Posting, from: For, to: Option<For>, at: At) -> QueryResult<Vec<Money>> {
    let parts = held(tx.conn(), from)?;
    for h in &parts {
        allocate(tx, posting, h.payment.id, from, h.amount.negated(), at)?;
        if let Some(to) = to {
            allocate(tx, posting, h.payment.id, to, h.amount, at)?;
        }
    }
    Ok(parts.into_iter().map(|h| h.amount).collect())
}

/// Moves a part of what is held for one thing, the oldest first, to another, or (with none) back to the customer's credit.
/// What could not be moved, because less is held.
///
/// # Errors
/// The database's own.
pub fn move_part(
    tx: &mut Tx,
    posting: &mut Posting,
    from: For,
    to: Option<For>,
    amount: Money,
    at: At,
) -> QueryResult<Money> {
    let mut left = amount.cents();
    for h in held(tx.conn(), from)? {
        let now = Money::from_cents(left.min(h.amount.cents()).max(0));
        allocate(tx, posting, h.payment.id, from, now.negated(), at)?;
        if let Some(to) = to {
            allocate(tx, posting, h.payment.id, to, now, at)?;
        }
        left -= now.cents();
    }
    Ok(Money::from_cents(left))
}

/// Puts a customer's credit to something, the oldest money first. What could not be put, because there is less.
///
/// # Errors
/// The database's own.
pub fn put_credit(
    tx: &mut Tx,
    posting: &mut Posting,
    who: CustomerId,
    to: For,
    amount: Money,
    at: At,
) -> QueryResult<Money> {
    let mut left = amount.cents();
    for (payment, part) in free_parts(tx.conn(), who)? {
        let now = Money::from_cents(left.min(part.cents()).max(0));
        allocate(tx, posting, payment.id, to, now, at)?;
        left -= now.cents();
    }
    Ok(Money::from_cents(left))
}

/// The parts of a customer's payments that are for nothing yet, oldest first. A payment that was returned is gone; other
/// refunds have taken from the oldest.
///
/// # Errors
/// The database's own.
pub fn free_parts(c: &mut DbConn, customer: CustomerId) -> QueryResult<Vec<(Payment, Money)>> {
    let payments: Vec<Payment> = payment::table
        .filter(payment::customer_id.eq(customer))
        .order(payment::id)
        .select(Payment::as_select())
        .load(c)?;
    let used: HashMap<PaymentId, i64> = allocation::table
        .filter(allocation::payment_id.eq_any(payments.iter().map(|p| p.id).collect::<Vec<_>>()))
        .group_by(allocation::payment_id)
        .select((allocation::payment_id, sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)")))
        .load::<(PaymentId, Option<i64>)>(c)?
        .into_iter()
        .map(|(id, n)| (id, n.unwrap_or(0)))
        .collect();
    let bounced: HashMap<PaymentId, PaymentId> = payment_pair::table
        .filter(payment_pair::kind.eq(PairKind::Bounced))
        .filter(payment_pair::first_id.eq_any(payments.iter().map(|p| p.id).collect::<Vec<_>>()))
        .select((payment_pair::first_id, payment_pair::second_id))
        .load::<(PaymentId, PaymentId)>(c)?
        .into_iter()
        .collect();
    let is_refund = |p: &Payment| p.kind == PaymentKind::Refund;
    let undoing: Vec<PaymentId> = bounced.values().copied().collect();
    let mut given_back: i64 =
        payments.iter().filter(|p| is_refund(p) && !undoing.contains(&p.id)).map(|p| p.amount.cents()).sum();
    let mut out = Vec::new();
    for p in payments.into_iter().filter(|p| !is_refund(p) && !bounced.contains_key(&p.id)) {
        let free = p.amount.cents() - used.get(&p.id).copied().unwrap_or(0);
        let taken = free.min(given_back).max(0);
        given_back -= taken;
        if free - taken > 0 {
            out.push((p, Money::from_cents(free - taken)));
        }
    }
    Ok(out)
}

/// A customer's credit: received, for nothing yet, and not given back.
///
/// # Errors
/// The database's own.
pub fn credit(c: &mut DbConn, customer: CustomerId) -> QueryResult<Money> {
    Ok(Money::from_cents(free_parts(c, customer)?.iter().map(|(_, m)| m.cents()).sum()))
}

/// One payment.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: PaymentId) -> QueryResult<Payment> {
    payment::table.find(id).select(Payment::as_select()).first(c)
}

/// Adds a receipt.
///
/// # Errors
/// The database's own.
pub fn insert_receipt(tx: &mut Tx, new: &NewReceipt) -> QueryResult<ReceiptId> {
    diesel::insert_into(receipt::table).values(new.clone()).returning(receipt::id).get_result(tx.conn())
}

/// The receipts of what was ever paid for an order or on its invoice, oldest first.
///
/// # Errors
/// The database's own.
pub fn receipts_of_order(
    c: &mut DbConn,
    order: ReservationId,
    invoice: Option<InvoiceId>,
) -> QueryResult<Vec<(ReceiptId, String)>> {
    let paid = allocation::table
        .filter(allocation::reservation_id.eq(order).or(allocation::invoice_id.eq(invoice)))
        .select(allocation::payment_id);
    receipt::table
        .filter(receipt::payment_id.eq_any(paid))
        .order(receipt::id)
        .select((receipt::id, receipt::number))
        .load(c)
}

/// What a payment stands for now: orders and invoices with how much of it, in the order it was put to them.
///
/// # Errors
/// The database's own.
pub fn parts_of(c: &mut DbConn, id: PaymentId) -> QueryResult<Vec<(For, Money)>> {
    let rows: Vec<(Option<ReservationId>, Option<InvoiceId>, Money)> = allocation::table
        .filter(allocation::payment_id.eq(id))
        .order(allocation::id)
        .select((allocation::reservation_id, allocation::invoice_id, allocation::amount))
        .load(c)?;
    let mut parts: Vec<(For, i64)> = Vec::new();
    for (order, invoice, amount) in rows {
        let Some(what) = order.map(For::Order).or(invoice.map(For::Invoice)) else { continue };
        match parts.iter_mut().find(|(w, _)| *w == what) {
            Some((_, sum)) => *sum = sum.saturating_add(amount.cents()),
            None => parts.push((what, amount.cents())),
        }
    }
    Ok(parts.into_iter().filter(|(_, n)| *n > 0).map(|(w, n)| (w, Money::from_cents(n))).collect())
}

/// A payment's receipt.
///
/// # Errors
/// The database's own.
pub fn receipt_of(c: &mut DbConn, id: PaymentId) -> QueryResult<Option<Receipt>> {
    receipt::table
        .filter(receipt::payment_id.eq(id))
        .order(receipt::id)
        .select(Receipt::as_select())
        .first(c)
        .optional()
}
