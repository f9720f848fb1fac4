//! Slips of money given back, and payments that belong together.

use super::conn::DbConn;
use super::ids::{PaymentId, RefundSlipId, ReservationId};
use super::rows::ledger::{NewRefundSlip, PaymentPair};
use super::schema::{ledger_entry, payment_pair, refund_slip};
use super::store::Tx;
use crate::trade::ledger::PairKind;
use diesel::prelude::*;
use std::collections::HashMap;

/// What a payment is one of a pair with, if it is.
///
/// # Errors
/// The database's own.
pub fn pair_of(c: &mut DbConn, id: PaymentId) -> QueryResult<Option<PaymentPair>> {
    payment_pair::table
        .filter(payment_pair::first_id.eq(id).or(payment_pair::second_id.eq(id)))
        .select(PaymentPair::as_select())
        .first(c)
        .optional()
}

/// Adds a refund slip.
///
/// # Errors
/// The database's own.
pub fn insert_slip(tx: &mut Tx, new: &NewRefundSlip) -> QueryResult<RefundSlipId> {
    diesel::insert_into(refund_slip::table).values(new.clone()).returning(refund_slip::id).get_result(tx.conn())
}

/// The refund slips of these payments.
///
/// # Errors
/// The database's own.
pub fn slips_of(c: &mut DbConn, ids: &[PaymentId]) -> QueryResult<HashMap<PaymentId, (RefundSlipId, String)>> {
    let rows: Vec<(PaymentId, RefundSlipId, String)> = refund_slip::table
        .filter(refund_slip::payment_id.eq_any(ids.to_vec()))
        .select((refund_slip::payment_id, refund_slip::id, refund_slip::number))
        .load(c)?;
    Ok(rows.into_iter().map(|(payment, id, number)| (payment, (id, number))).collect())
}

/// The refund slips of what was given back of an order's deposit, oldest first.
///
/// # Errors
/// The database's own.
pub fn slips_of_order(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<(RefundSlipId, String)>> {
    let about = ledger_entry::table.filter(ledger_entry::reservation_id.eq(order)).select(ledger_entry::payment_id);
    refund_slip::table
        .filter(refund_slip::payment_id.nullable().eq_any(about))
        .order(refund_slip::id)
        .select((refund_slip::id, refund_slip::number))
        .load(c)
}

/// The payments among these that undo one the bank took back.
///
/// # Errors
/// The database's own.
pub fn undoing(c: &mut DbConn, ids: &[PaymentId]) -> QueryResult<Vec<PaymentId>> {
    payment_pair::table
        .filter(payment_pair::kind.eq(PairKind::Bounced))
        .filter(payment_pair::second_id.eq_any(ids.to_vec()))
        .select(payment_pair::second_id)
        .load(c)
}
