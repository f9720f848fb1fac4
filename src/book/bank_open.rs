//! What lines of a bank may be: what the book waits for, and what is recorded and stands on no statement yet. A fixed number of queries,
//! however many lines and candidates there are.

use super::conn::DbConn;
use super::ids::{PaymentId, ReservationId, SlipId, UnmatchedId};
use super::invoices;
use super::money_sums::held_for_orders;
use super::reservations::DEPOSIT_DUE;
use super::rows::bank::Unmatched;
use super::rows::money::Payment;
use super::schema::{
    bank_tie, customer, deposit_slip, deposit_slip_item, payment, payment_pair, reservation, unmatched_money,
};
use crate::trade::bank::TieKind;
use crate::trade::bank::suggest::{Candidate, What};
use crate::trade::ledger::PairKind;
use crate::trade::money::Money;
use crate::trade::vocabulary::PaymentKind;
use chrono::{NaiveDate, TimeDelta};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use std::collections::HashMap;

/// Of each kind at most.
const MOST: i64 = 1_000;

/// What lines of these days may be. Nothing of it is on a statement yet.
///
/// # Errors
/// The database's own.
pub fn candidates(c: &mut DbConn, first: NaiveDate, last: NaiveDate) -> QueryResult<Vec<Candidate>> {
    let (from, to) = days_around(first, last);
    let mut out = recorded(c, from, to)?;
    out.extend(nobodys(c, from, to)?);
    out.extend(slips(c, from, to)?);
    out.extend(open_invoices(c)?);
    out.extend(deposits(c)?);
    Ok(out)
}

/// What money not matched may be: it is in the book already, so only what is still to be paid.
///
/// # Errors
/// The database's own.
pub fn waiting_for_money(c: &mut DbConn) -> QueryResult<Vec<Candidate>> {
    let mut out = open_invoices(c)?;
    out.extend(deposits(c)?);
    Ok(out)
}

fn open_invoices(c: &mut DbConn) -> QueryResult<Vec<Candidate>> {
    let open = invoices::open(c, None, MOST)?;
    let ids: Vec<ReservationId> = open.iter().map(|(i, ..)| i.reservation_id).collect();
    let numbers: HashMap<ReservationId, String> = reservation::table
        .filter(reservation::id.eq_any(ids))
        .select((reservation::id, reservation::number))
        .load::<(ReservationId, String)>(c)?
        .into_iter()
        .collect();
    let candidate = |(i, who, owed): invoices::Open| Candidate {
        what: What::Invoice,
        id: i.id.0,
        name: who.name,
        amount: owed,
        day: None,
        order: numbers.get(&i.reservation_id).cloned(),
        invoice: Some(i.number),
        check: String::new(),
    };
    Ok(open.into_iter().map(candidate).collect())
}

fn deposits(c: &mut DbConn) -> QueryResult<Vec<Candidate>> {
    let rows: Vec<(ReservationId, String, Money, String)> = reservation::table
        .inner_join(customer::table)
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .filter(sql::<Bool>(DEPOSIT_DUE))
        .order(reservation::id)
        .limit(MOST)
        .select((reservation::id, reservation::number, reservation::deposit_asked, customer::name))
        .load(c)?;
    let held = held_for_orders(c, &rows.iter().map(|r| r.0).collect::<Vec<_>>())?;
    let candidate = |(id, number, asked, name): (ReservationId, String, Money, String)| {
        let missing = asked.minus(held.get(&id).copied().unwrap_or_default()).unwrap_or_default();
        Candidate {
            what: What::Deposit,
            id: id.0,
            name,
            amount: missing,
            day: None,
            order: Some(number),
            invoice: None,
            check: String::new(),
        }
    };
    Ok(rows.into_iter().map(candidate).collect())
}

/// Payments of these days that no line is tied to and no slip holds. What came from money not matched stands for itself, and what only went
/// from one customer to another was never at a bank.
fn recorded(c: &mut DbConn, from: NaiveDate, to: NaiveDate) -> QueryResult<Vec<Candidate>> {
    let moved = payment_pair::table.filter(payment_pair::kind.eq(PairKind::Moved));
    let rows: Vec<(Payment, String)> = payment::table
        .inner_join(customer::table)
        .filter(payment::received_on.ge(from))
        .filter(payment::received_on.le(to))
        .filter(
            payment::id
                .nullable()
                .ne_all(bank_tie::table.filter(bank_tie::payment_id.is_not_null()).select(bank_tie::payment_id)),
        )
        .filter(
            payment::id.nullable().ne_all(
                deposit_slip_item::table
                    .filter(deposit_slip_item::payment_id.is_not_null())
                    .select(deposit_slip_item::payment_id),
            ),
        )
        .filter(
            payment::id.nullable().ne_all(
                unmatched_money::table
                    .filter(unmatched_money::payment_id.is_not_null())
                    .select(unmatched_money::payment_id),
            ),
        )
        .filter(payment::id.ne_all(moved.select(payment_pair::first_id)))
        .filter(payment::id.ne_all(moved.select(payment_pair::second_id)))
        .order(payment::id.desc())
        .limit(MOST)
        .select((Payment::as_select(), customer::name))
        .load(c)?;
    let candidate = |(p, name): (Payment, String)| Candidate {
        what: if p.kind == PaymentKind::Received { What::Payment } else { What::Refund },
        id: p.id.0,
        name,
        amount: p.amount,
        day: Some(p.received_on),
        order: None,
        invoice: None,
        check: p.reference,
    };
    Ok(rows.into_iter().map(candidate).collect())
}

/// Money that was not matched when it came in, and such money given back.
fn nobodys(c: &mut DbConn, from: NaiveDate, to: NaiveDate) -> QueryResult<Vec<Candidate>> {
    let rows: Vec<Unmatched> = unmatched_money::table
        .filter(unmatched_money::received_on.le(to))
        .filter(unmatched_money::received_on.ge(from).or(unmatched_money::back_on.ge(from)))
        .order(unmatched_money::id.desc())
        .limit(MOST)
        .select(Unmatched::as_select())
        .load(c)?;
    let ids: Vec<UnmatchedId> = rows.iter().map(|u| u.id).collect();
    let tied: Vec<(Option<UnmatchedId>, TieKind)> = bank_tie::table
        .filter(bank_tie::unmatched_id.eq_any(ids.clone()))
        .select((bank_tie::unmatched_id, bank_tie::kind))
        .load(c)?;
    let on_slip: Vec<Option<UnmatchedId>> = deposit_slip_item::table
        .filter(deposit_slip_item::unmatched_id.eq_any(ids))
        .select(deposit_slip_item::unmatched_id)
        .load(c)?;
    let mut out = Vec::new();
    for u in rows {
        let is_tied = |kind| tied.contains(&(Some(u.id), kind));
        let candidate = |what, day, check: &str| Candidate {
            what,
            id: u.id.0,
            name: u.payer.clone(),
            amount: u.amount,
            day: Some(day),
            order: None,
            invoice: None,
            check: check.to_string(),
        };
        if !is_tied(TieKind::Unmatched) && !on_slip.contains(&Some(u.id)) {
            out.push(candidate(What::Unmatched, u.received_on, &u.reference));
        }
        if let Some(day) = u.back_on.filter(|_| !is_tied(TieKind::GivenBack)) {
            out.push(candidate(What::GivenBack, day, ""));
        }
    }
    Ok(out)
}

fn slips(c: &mut DbConn, from: NaiveDate, to: NaiveDate) -> QueryResult<Vec<Candidate>> {
    let tied = bank_tie::table.filter(bank_tie::slip_id.is_not_null()).select(bank_tie::slip_id);
    let rows: Vec<(SlipId, NaiveDate, Money)> = deposit_slip::table
        .filter(deposit_slip::made_on.ge(from))
        .filter(deposit_slip::made_on.le(to))
        .filter(deposit_slip::id.nullable().ne_all(tied))
        .order(deposit_slip::id.desc())
        .limit(MOST)
        .select((deposit_slip::id, deposit_slip::made_on, deposit_slip::total))
        .load(c)?;
    let candidate = |(id, day, total): (SlipId, NaiveDate, Money)| Candidate {
        what: What::Slip,
        id: id.0,
        name: String::new(),
        amount: total,
        day: Some(day),
        order: None,
        invoice: None,
        check: String::new(),
    };
    Ok(rows.into_iter().map(candidate).collect())
}

/// The names of the customers of payments.
///
/// # Errors
/// The database's own.
pub fn payers(c: &mut DbConn, ids: &[PaymentId]) -> QueryResult<HashMap<PaymentId, (super::ids::CustomerId, String)>> {
    let rows: Vec<(PaymentId, super::ids::CustomerId, String)> = payment::table
        .inner_join(customer::table)
        .filter(payment::id.eq_any(ids.to_vec()))
        .select((payment::id, customer::id, customer::name))
        .load(c)?;
    Ok(rows.into_iter().map(|(id, who, name)| (id, (who, name))).collect())
}

/// The days on which what lines of these days are may have been recorded.
pub fn days_around(first: NaiveDate, last: NaiveDate) -> (NaiveDate, NaiveDate) {
    let back = first.checked_sub_signed(TimeDelta::days(60)).unwrap_or(first);
    (back, last.checked_add_signed(TimeDelta::days(15)).unwrap_or(last))
}
