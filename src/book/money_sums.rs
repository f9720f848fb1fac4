//! Sums over all customers: deposits held, credit, latest payments.

use super::conn::DbConn;
use super::ids::CustomerId;
use super::payments;
use super::rows::money::Payment;
use super::schema::{allocation, customer, payment, reservation};
use crate::trade::money::Money;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Nullable};

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

/// The latest payments with the customer's name, newest first.
///
/// # Errors
/// The database's own.
pub fn latest_payments(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(Payment, String)>> {
    payment::table
        .inner_join(customer::table)
        .order(payment::id.desc())
        .limit(limit)
        .select((Payment::as_select(), customer::name))
        .load(c)
}

/// Customers with credit, at most `limit`.
///
/// # Errors
/// The database's own.
pub fn credits(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(CustomerId, String, Money)>> {
    let has_credit = "(SELECT COALESCE(SUM(CASE WHEN p.kind = 'received' THEN p.amount ELSE -p.amount END), 0) FROM payment p WHERE p.customer_id = customer.id) \
        > (SELECT COALESCE(SUM(a.amount), 0) FROM allocation a JOIN payment q ON q.id = a.payment_id WHERE q.customer_id = customer.id)";
    let people: Vec<(CustomerId, String)> = customer::table
        .filter(customer::id.eq_any(payment::table.select(payment::customer_id)))
        .filter(sql::<Bool>(has_credit))
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
