//! Private links of customers and the browsers that opened them. A token is never stored, only its hash.

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, CustomerLinkId, InvoiceId, PaymentId, ReceiptId, ReservationId};
use super::rows::links::{CustomerLink, LinkSession, NewCustomerLink};
use super::rows::people::Customer;
use super::rows::selling::{Offering, Reservation};
use super::schema::{
    allocation, credit_note, customer, customer_link, invoice, invoice_change, link_session, offering, payment,
    receipt, reservation,
};
use super::store::Tx;
use crate::trade::money::{Money, Overflow};
use chrono::NaiveDate;
use diesel::prelude::*;

/// Adds a live link.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewCustomerLink) -> QueryResult<CustomerLinkId> {
    diesel::insert_into(customer_link::table).values(new.clone()).returning(customer_link::id).get_result(tx.conn())
}

/// The live link with this hash.
///
/// # Errors
/// The database's own.
pub fn live(c: &mut DbConn, token_hash: &str) -> QueryResult<Option<CustomerLink>> {
    customer_link::table
        .filter(customer_link::token_hash.eq(token_hash))
        .filter(customer_link::revoked_at.is_null())
        .select(CustomerLink::as_select())
        .first(c)
        .optional()
}

/// The live links of an order, newest first.
///
/// # Errors
/// The database's own.
pub fn live_of(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<CustomerLink>> {
    customer_link::table
        .filter(customer_link::reservation_id.eq(order))
        .filter(customer_link::revoked_at.is_null())
        .order(customer_link::id.desc())
        .select(CustomerLink::as_select())
        .load(c)
}

/// Revokes every live link of an order; how many there were.
///
/// # Errors
/// The database's own.
pub fn revoke_all(tx: &mut Tx, order: ReservationId, at: At) -> QueryResult<usize> {
    let live = customer_link::table
        .filter(customer_link::reservation_id.eq(order))
        .filter(customer_link::revoked_at.is_null());
    diesel::update(live).set(customer_link::revoked_at.eq(at)).execute(tx.conn())
}

/// Takes a link away that never left the house; nothing when somebody used it.
///
/// # Errors
/// The database's own.
pub fn forget(tx: &mut Tx, id: CustomerLinkId) -> QueryResult<()> {
    diesel::delete(customer_link::table.find(id).filter(customer_link::last_used_at.is_null())).execute(tx.conn())?;
    Ok(())
}

/// Stores a browser that opened a link, notes that the link was used, and forgets browsers whose time ended.
///
/// # Errors
/// The database's own.
pub fn begin_session(tx: &mut Tx, s: &LinkSession) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(link_session::table.filter(link_session::ends_at.lt(s.made_at))).execute(c)?;
    diesel::insert_into(link_session::table).values(s.clone()).execute(c)?;
    diesel::update(customer_link::table.find(s.link_id)).set(customer_link::last_used_at.eq(s.made_at)).execute(c)?;
    Ok(())
}

/// Notes that a browser, and so its link, was used.
///
/// # Errors
/// The database's own.
pub fn touch(tx: &mut Tx, s: &LinkSession, at: At) -> QueryResult<()> {
    let c = tx.conn();
    diesel::update(link_session::table.find(&s.id_hash)).set(link_session::last_seen_at.eq(at)).execute(c)?;
    diesel::update(customer_link::table.find(s.link_id)).set(customer_link::last_used_at.eq(at)).execute(c)?;
    Ok(())
}

/// Ends one browser's session.
///
/// # Errors
/// The database's own.
pub fn end_session(tx: &mut Tx, id_hash: &str) -> QueryResult<()> {
    diesel::delete(link_session::table.find(id_hash)).execute(tx.conn())?;
    Ok(())
}

/// A browser that opened a link, and the order it opened.
pub type Opened = (LinkSession, Reservation, Customer, Offering);

/// The browser with this hash and its order, if the link is not revoked and the browser's time has not ended at `now`. Whether the
/// order is still open is asked apart: [`settled_on`].
///
/// # Errors
/// The database's own.
pub fn session_of(c: &mut DbConn, id_hash: &str, now: At) -> QueryResult<Option<Opened>> {
    link_session::table
        .inner_join(
            customer_link::table.inner_join(reservation::table.inner_join(customer::table).inner_join(offering::table)),
        )
        .filter(link_session::id_hash.eq(id_hash))
        .filter(link_session::ends_at.gt(now))
        .filter(customer_link::revoked_at.is_null())
        .select((LinkSession::as_select(), Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .first(c)
        .optional()
}

/// The day an order was settled: paid in full, and collected if that is written down and later. `None` while it is not paid.
///
/// # Errors
/// The database's own.
pub fn settled_on(c: &mut DbConn, r: &Reservation, zone: chrono_tz::Tz) -> QueryResult<Option<NaiveDate>> {
    type Issued = (InvoiceId, Money, Money, NaiveDate);
    let issued: Option<Issued> = invoice::table
        .left_join(credit_note::table)
        .filter(invoice::reservation_id.eq(r.id))
        .filter(credit_note::id.nullable().is_null())
        .order(invoice::id.desc())
        .select((invoice::id, invoice::farm_total, invoice::farm_tax, invoice::issued_on))
        .first(c)
        .optional()?;
    let Some((id, total, tax, issued_on)) = issued else { return Ok(None) };
    let paid: Vec<(Money, NaiveDate)> = allocation::table
        .inner_join(payment::table)
        .filter(allocation::invoice_id.eq(id))
        .select((allocation::amount, payment::received_on))
        .load(c)?;
    let changes: Vec<(Money, NaiveDate)> = invoice_change::table
        .filter(invoice_change::invoice_id.eq(id))
        .select((invoice_change::amount, invoice_change::made_on))
        .load(c)?;
    let owed = || {
        let billed = total.plus(tax)?.plus(Money::sum(changes.iter().map(|k| k.0))?)?;
        Ok::<_, Overflow>(billed.minus(Money::sum(paid.iter().map(|p| p.0))?)?.is_positive())
    };
    // A sum that cannot be reckoned is not paid.
    if owed().unwrap_or(true) {
        return Ok(None);
    }
    let last = paid.iter().chain(&changes).map(|p| p.1).max().map_or(issued_on, |day| day.max(issued_on));
    Ok(Some(r.collected_at.map_or(last, |at| last.max(at.day(zone)))))
}

/// The receipts of payments that were for this order and its invoices alone, oldest first. A receipt that names another order of the
/// same customer is left out: a link shows one order.
///
/// # Errors
/// The database's own.
pub fn own_receipts(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<(ReceiptId, String)>> {
    let invoices: Vec<InvoiceId> =
        invoice::table.filter(invoice::reservation_id.eq(order)).select(invoice::id).load(c)?;
    // What somebody paid who had the share before is theirs alone.
    let holder: CustomerId = reservation::table.find(order).select(reservation::customer_id).first(c)?;
    let touching: Vec<PaymentId> = allocation::table
        .inner_join(payment::table)
        .filter(payment::customer_id.eq(holder))
        .filter(allocation::reservation_id.eq(order).or(allocation::invoice_id.eq_any(invoices.clone())))
        .select(allocation::payment_id)
        .distinct()
        .load(c)?;
    let parts: Vec<(PaymentId, Option<ReservationId>, Option<InvoiceId>)> = allocation::table
        .filter(allocation::payment_id.eq_any(touching.clone()))
        .select((allocation::payment_id, allocation::reservation_id, allocation::invoice_id))
        .load(c)?;
    let is_ours = |of: Option<ReservationId>, on: Option<InvoiceId>| {
        of.is_none_or(|of| of == order) && on.is_none_or(|on| invoices.contains(&on))
    };
    let own: Vec<PaymentId> = touching
        .into_iter()
        .filter(|id| parts.iter().filter(|p| p.0 == *id).all(|(_, of, on)| is_ours(*of, *on)))
        .collect();
    receipt::table
        .filter(receipt::payment_id.eq_any(own))
        .order(receipt::id)
        .select((receipt::id, receipt::number))
        .load(c)
}

/// Whether an invoice is of this order and was issued to the one who has the order now.
///
/// # Errors
/// The database's own.
pub fn is_own_invoice(c: &mut DbConn, order: ReservationId, id: InvoiceId) -> QueryResult<bool> {
    let own = invoice::table
        .inner_join(reservation::table)
        .filter(invoice::id.eq(id))
        .filter(invoice::reservation_id.eq(order))
        .filter(invoice::customer_id.eq(reservation::customer_id));
    Ok(own.select(invoice::id).first::<InvoiceId>(c).optional()?.is_some())
}

/// The orders of the customers with this mail address that are not cancelled, with their customer, oldest first.
///
/// # Errors
/// The database's own.
pub fn orders_of_mail(c: &mut DbConn, mail: &str, limit: i64) -> QueryResult<Vec<Reservation>> {
    reservation::table
        .inner_join(customer::table)
        .filter(customer::mail.eq(mail))
        .filter(reservation::cancelled_at.is_null())
        .order(reservation::id)
        .limit(limit)
        .select(Reservation::as_select())
        .load(c)
}
