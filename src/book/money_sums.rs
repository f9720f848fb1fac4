//! Sums over all customers: deposits held, credit, latest payments.

use super::conn::DbConn;
use super::ids::{CustomerId, ReceiptId, ReservationId};
use super::payments;
use super::rows::money::Payment;
use super::schema::{allocation, customer, payment, receipt, reservation};
use crate::trade::money::Money;
use crate::trade::vocabulary::PaymentKind;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Nullable};
use std::collections::HashMap;

/// Deposits held for orders that are not cancelled.
///
/// # Errors
/// The database's own.
pub fn deposits_held(c: &mut DbConn) -> QueryResult<Money> {
    let open = reservation::table.filter(reservation::cancelled_at.is_null()).select(reservation::id.nullable());
    let sum: Option<i64> = allocation::table
        .filter(allocation::reservation_id.eq_any(open))
        .select(sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)"))
        .first(c)?;
    Ok(Money::from_cents(sum.unwrap_or(0)))
}

/// Deposits held for these orders.
///
/// # Errors
/// The database's own.
pub fn held_for_orders(c: &mut DbConn, ids: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Money>> {
    let rows: Vec<(Option<ReservationId>, Option<i64>)> = allocation::table
        .filter(allocation::reservation_id.eq_any(ids.to_vec()))
        .group_by(allocation::reservation_id)
        .select((allocation::reservation_id, sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)")))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, cents)| Some((id?, Money::from_cents(cents.unwrap_or(0))))).collect())
}

/// The latest payments with the customer's name and the receipt if one was made, as they were recorded, newest first.
///
/// # Errors
/// The database's own.
pub fn latest_payments(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(Payment, String, Option<(ReceiptId, String)>)>> {
    payment::table
        .inner_join(customer::table)
        .left_join(receipt::table)
        .order(payment::id.desc())
        .limit(limit)
        .select((Payment::as_select(), customer::name, (receipt::id, receipt::number).nullable()))
        .load(c)
}

/// More was received from a customer than given back or put to something, as SQL.
const HAS_CREDIT: &str = "(SELECT COALESCE(SUM(CASE WHEN p.kind = 'received' THEN p.amount ELSE -p.amount END), 0) FROM payment p WHERE p.customer_id = customer.id) \
    > (SELECT COALESCE(SUM(a.amount), 0) FROM allocation a JOIN payment q ON q.id = a.payment_id WHERE q.customer_id = customer.id)";

/// The credit of all customers together.
///
/// # Errors
/// The database's own.
pub fn credit_in_all(c: &mut DbConn) -> QueryResult<Money> {
    let sum = |c: &mut DbConn, kind: PaymentKind| -> QueryResult<i64> {
        let all = payment::table.filter(payment::kind.eq(kind));
        let sum: Option<i64> = all.select(sql::<Nullable<BigInt>>("CAST(SUM(payment.amount) AS BIGINT)")).first(c)?;
        Ok(sum.unwrap_or(0))
    };
    let (received, returned) = (sum(c, PaymentKind::Received)?, sum(c, PaymentKind::Refund)?);
    let put: Option<i64> =
        allocation::table.select(sql::<Nullable<BigInt>>("CAST(SUM(allocation.amount) AS BIGINT)")).first(c)?;
    Ok(Money::from_cents(received.saturating_sub(returned).saturating_sub(put.unwrap_or(0))))
}

/// How many customers have credit.
///
/// # Errors
/// The database's own.
pub fn credit_count(c: &mut DbConn) -> QueryResult<i64> {
    customer::table
        .filter(customer::id.eq_any(payment::table.select(payment::customer_id)))
        .filter(sql::<Bool>(HAS_CREDIT))
        .count()
        .get_result(c)
}

/// Customers with credit, at most `limit`.
///
/// # Errors
/// The database's own.
pub fn credits(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(CustomerId, String, Money)>> {
    let people: Vec<(CustomerId, String)> = customer::table
        .filter(customer::id.eq_any(payment::table.select(payment::customer_id)))
        .filter(sql::<Bool>(HAS_CREDIT))
        .order((customer::name, customer::id))
        .limit(limit)
        .select((customer::id, customer::name))
        .load(c)?;
    let mut out = Vec::with_capacity(people.len());
    for (id, name) in people {
        // Bounded by `limit`; most farms have none or two.
        out.push((id, name, payments::credit(c, id)?));
    }
    Ok(out)
}
