//! Private links of customers: what they open, and that no token is stored.

use super::Checked;
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerLinkId, ReservationId};
use crate::book::schema::{cancel_request, customer_link, reservation};
use crate::trade::vocabulary::CancelAnswer;
use diesel::prelude::*;

/// Characters of a SHA-256 in base64 without padding; a token has 32.
const HASH: usize = 43;

/// 9: a wish to cancel that waits belongs to an order that is not cancelled.
pub(super) fn wishes(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, Option<CancelAnswer>, Option<At>)> = cancel_request::table
        .inner_join(reservation::table)
        .select((reservation::id, cancel_request::answer, reservation::cancelled_at))
        .load(c)?;
    let faults = rows
        .iter()
        .filter(|(_, answer, cancelled_at)| answer.is_none() && cancelled_at.is_some())
        .map(|(order, ..)| format!("reservation {order} is cancelled, but a wish to cancel it waits"))
        .collect();
    Ok(Checked { rule: "9  every wish to cancel that waits is about an open order", looked_at: rows.len(), faults })
}

/// 9: a link that works belongs to an order that is not cancelled, and only hashes are stored.
pub(super) fn live(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(CustomerLinkId, ReservationId, String, Option<At>, Option<At>)> = customer_link::table
        .inner_join(reservation::table)
        .select((
            customer_link::id,
            reservation::id,
            customer_link::token_hash,
            customer_link::revoked_at,
            reservation::cancelled_at,
        ))
        .load(c)?;
    let mut faults = Vec::new();
    for (id, order, hash, revoked_at, cancelled_at) in &rows {
        if revoked_at.is_none() && cancelled_at.is_some() {
            faults.push(format!("link {id} works, but reservation {order} is cancelled"));
        }
        if hash.len() != HASH {
            faults.push(format!("link {id} is not stored as a hash"));
        }
    }
    Ok(Checked {
        rule: "9  every private link that works opens one order, which is not cancelled; only hashes are stored",
        looked_at: rows.len(),
        faults,
    })
}
