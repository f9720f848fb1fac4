//! Money that came in and nobody knows from whom: it waits on an account of its own until it is matched or given back.

use super::conn::DbConn;
use super::ids::{PaymentId, UnmatchedId};
use super::ledger::Posting;
use super::rows::bank::{NewUnmatched, Unmatched};
use super::schema::unmatched_money;
use super::store::Tx;
use crate::trade::ledger::What;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};

/// Records it.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, posting: &mut Posting, new: &NewUnmatched) -> QueryResult<UnmatchedId> {
    posting.step_of_nobody(What::Unmatched(new.method, new.amount));
    diesel::insert_into(unmatched_money::table).values(new.clone()).returning(unmatched_money::id).get_result(tx.conn())
}

/// One of them.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: UnmatchedId) -> QueryResult<Unmatched> {
    unmatched_money::table.find(id).select(Unmatched::as_select()).first(c)
}

/// Those that wait, oldest first, at most `limit`.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn, limit: i64) -> QueryResult<Vec<Unmatched>> {
    unmatched_money::table
        .filter(unmatched_money::payment_id.is_null())
        .filter(unmatched_money::back_on.is_null())
        .order((unmatched_money::received_on, unmatched_money::id))
        .limit(limit)
        .select(Unmatched::as_select())
        .load(c)
}

/// The latest that were matched or given back, newest first.
///
/// # Errors
/// The database's own.
pub fn settled(c: &mut DbConn, limit: i64) -> QueryResult<Vec<Unmatched>> {
    unmatched_money::table
        .filter(unmatched_money::payment_id.is_not_null().or(unmatched_money::back_on.is_not_null()))
        .order(unmatched_money::id.desc())
        .limit(limit)
        .select(Unmatched::as_select())
        .load(c)
}

/// How much waits in all, and how many of them.
///
/// # Errors
/// The database's own.
pub fn waiting_in_all(c: &mut DbConn) -> QueryResult<(Money, i64)> {
    let wait =
        unmatched_money::table.filter(unmatched_money::payment_id.is_null()).filter(unmatched_money::back_on.is_null());
    let sum: Option<i64> =
        wait.select(sql::<Nullable<BigInt>>("CAST(SUM(unmatched_money.amount) AS BIGINT)")).first(c)?;
    Ok((Money::from_cents(sum.unwrap_or(0)), wait.count().get_result(c)?))
}

/// What came in on a day, as it was recorded, whatever became of it.
///
/// # Errors
/// The database's own.
pub fn of_day(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<Unmatched>> {
    unmatched_money::table
        .filter(unmatched_money::received_on.eq(day))
        .order(unmatched_money::id)
        .select(Unmatched::as_select())
        .load(c)
}

/// What a payment was before it was matched, if it came in so.
///
/// # Errors
/// The database's own.
pub fn that_became(c: &mut DbConn, payment: PaymentId) -> QueryResult<Option<UnmatchedId>> {
    unmatched_money::table
        .filter(unmatched_money::payment_id.eq(payment))
        .select(unmatched_money::id)
        .first(c)
        .optional()
}

/// Whether nothing happened to it yet; then it became this payment.
///
/// # Errors
/// The database's own.
pub(super) fn became(tx: &mut Tx, id: UnmatchedId, payment: PaymentId) -> QueryResult<bool> {
    let waits = unmatched_money::table
        .find(id)
        .filter(unmatched_money::payment_id.is_null())
        .filter(unmatched_money::back_on.is_null());
    let n = diesel::update(waits).set(unmatched_money::payment_id.eq(payment)).execute(tx.conn())?;
    Ok(n == 1)
}

/// Writes down that it was given back; `false` when something happened to it before.
///
/// # Errors
/// The database's own.
pub fn give_back(
    tx: &mut Tx,
    posting: &mut Posting,
    id: UnmatchedId,
    method: PayMethod,
    day: NaiveDate,
    words: &str,
) -> QueryResult<bool> {
    let row = get(tx.conn(), id)?;
    let waits = unmatched_money::table
        .find(id)
        .filter(unmatched_money::payment_id.is_null())
        .filter(unmatched_money::back_on.is_null());
    let n = diesel::update(waits)
        .set((
            unmatched_money::back_method.eq(Some(method)),
            unmatched_money::back_on.eq(Some(day)),
            unmatched_money::back_words.eq(words.to_string()),
        ))
        .execute(tx.conn())?;
    posting.step_of_nobody(What::UnmatchedBack(method, row.amount));
    Ok(n == 1)
}
