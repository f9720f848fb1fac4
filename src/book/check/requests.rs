//! The terms customers accepted, and requests from the farm's page.

use super::Checked;
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, OfferingId, RequestId, ReservationId};
use crate::book::schema::{request_link, reservation, reserve_request, sale_terms, terms_acceptance};
use crate::trade::requests::RequestEnd;
use crate::trade::share::{Part, Size};
use chrono::NaiveDate;
use diesel::prelude::*;

/// Characters of a SHA-256 in base64 without padding.
const HASH: usize = 43;

/// What was accepted has words, and was there on the day it was accepted.
pub(super) fn terms(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, CustomerId, NaiveDate, NaiveDate, String)> = terms_acceptance::table
        .inner_join(sale_terms::table)
        .select((
            terms_acceptance::reservation_id,
            terms_acceptance::customer_id,
            terms_acceptance::accepted_on,
            sale_terms::made_on,
            sale_terms::body,
        ))
        .load(c)?;
    let mut faults = Vec::new();
    for (order, customer, on, made, body) in &rows {
        if body.is_empty() {
            faults.push(format!("customer {customer} accepted terms without words with reservation {order}"));
        }
        if on < made {
            faults.push(format!("customer {customer} accepted terms of {made} with reservation {order} on {on}"));
        }
    }
    Ok(Checked {
        rule: "every acceptance of terms is of words that were there on its day",
        looked_at: rows.len(),
        faults,
    })
}

/// A request that was accepted is the order that was asked for, and only a confirmed address was answered.
pub(super) fn requests(c: &mut DbConn) -> QueryResult<Checked> {
    type Share = (OfferingId, Size, Option<Part>);
    type Row = (RequestId, Share, Option<At>, Option<RequestEnd>, Option<ReservationId>);
    let rows: Vec<Row> = reserve_request::table
        .select((
            reserve_request::id,
            (reserve_request::offering_id, reserve_request::size, reserve_request::part),
            reserve_request::confirmed_at,
            reserve_request::outcome,
            reserve_request::reservation_id,
        ))
        .load(c)?;
    let orders: Vec<ReservationId> = rows.iter().filter_map(|r| r.4).collect();
    let shares: Vec<(ReservationId, Share)> = reservation::table
        .filter(reservation::id.eq_any(orders))
        .select((reservation::id, (reservation::offering_id, reservation::size, reservation::part)))
        .load(c)?;
    let hashes: Vec<String> = request_link::table.select(request_link::token_hash).load(c)?;
    let mut faults = Vec::new();
    let mut taken = std::collections::BTreeSet::new();
    for (id, asked, confirmed, outcome, order) in &rows {
        if (*outcome == Some(RequestEnd::Accepted)) != order.is_some() {
            faults.push(format!("request {id} is accepted without an order, or has one without being accepted"));
        }
        if outcome.is_some() && confirmed.is_none() {
            faults.push(format!("request {id} was answered before its mail address was confirmed"));
        }
        let Some(order) = order else { continue };
        if !taken.insert(*order) {
            faults.push(format!("reservation {order} came of two requests"));
        }
        if shares.iter().find(|(id, _)| id == order).is_none_or(|(_, share)| share != asked) {
            faults.push(format!("request {id} became reservation {order}, which is another share"));
        }
    }
    faults.extend(
        hashes.iter().filter(|h| h.len() != HASH).map(|_| "a link of a request is not stored as a hash".into()),
    );
    Ok(Checked {
        rule: "every accepted request is the order that was asked for, of a confirmed address",
        looked_at: rows.len(),
        faults,
    })
}
