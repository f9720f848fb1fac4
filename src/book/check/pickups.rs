//! Collecting meat: windows, what was chosen, who came, reminders and storage.

use super::Checked;
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, InvoiceId, PickupWindowId, ReservationId};
use crate::book::pickup_places;
use crate::book::schema::*;
use crate::trade::money::Money;
use diesel::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// 18: a window has no more customers than it is for, and none when it was called off.
pub(super) fn windows(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(PickupWindowId, i64, Option<At>)> =
        pickup_window::table.select((pickup_window::id, pickup_window::most, pickup_window::cancelled_at)).load(c)?;
    let taken = pickup_places::taken(c, &rows.iter().map(|(id, ..)| *id).collect::<Vec<_>>())?;
    let faults = rows
        .iter()
        .filter_map(|(id, most, off)| {
            let n = taken.get(id).copied().unwrap_or(0);
            match off {
                Some(_) if n > 0 => Some(format!("pickup window {id} was called off and has {n} customers")),
                None if n > *most => Some(format!("pickup window {id} is for {most} customers and has {n}")),
                _ => None,
            }
        })
        .collect();
    Ok(Checked { rule: "18 no pickup window has more customers than it is for", looked_at: rows.len(), faults })
}

/// 18: a window that was chosen is one of the order's own date, and the order was said to be ready.
pub(super) fn choices(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, DateId, Option<ReservationId>)> = pickup_choice::table
        .inner_join(pickup_window::table)
        .left_join(pickup_ready::table.on(pickup_ready::reservation_id.eq(pickup_choice::reservation_id)))
        .select((pickup_choice::reservation_id, pickup_window::date_id, pickup_ready::reservation_id.nullable()))
        .load(c)?;
    let orders: Vec<_> = rows.iter().map(|(order, ..)| *order).collect();
    let hang: Vec<(ReservationId, Option<DateId>)> = placement::table
        .inner_join(animal::table)
        .filter(placement::reservation_id.eq_any(orders))
        .select((placement::reservation_id, animal::date_id))
        .load(c)?;
    let on: BTreeMap<ReservationId, Option<DateId>> = hang.into_iter().collect();
    let mut faults = Vec::new();
    for (order, date, ready) in &rows {
        if on.get(order).copied().flatten() != Some(*date) {
            faults.push(format!("reservation {order} is collected in a window of date {date}, where it has no share"));
        }
        if ready.is_none() {
            faults.push(format!("reservation {order} has a pickup window and is not ready"));
        }
    }
    Ok(Checked {
        rule: "18 every pickup window that was chosen is of the order’s date, for meat that is ready",
        looked_at: rows.len(),
        faults,
    })
}

/// 18: what was collected says by whom, and the other way round.
pub(super) fn collected(c: &mut DbConn) -> QueryResult<Checked> {
    let marked: BTreeSet<ReservationId> = reservation::table
        .filter(reservation::collected_at.is_not_null())
        .select(reservation::id)
        .load(c)?
        .into_iter()
        .collect();
    let told: BTreeSet<ReservationId> =
        pickup_collected::table.select(pickup_collected::reservation_id).load(c)?.into_iter().collect();
    let faults = marked
        .symmetric_difference(&told)
        .map(|order| format!("reservation {order} is collected by nobody, or by somebody without being collected"))
        .collect();
    Ok(Checked { rule: "18 every order that was collected says by whom", looked_at: marked.len(), faults })
}

/// 18: what reminds of pickup is a message of the same order.
pub(super) fn reminders(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, Option<ReservationId>)> = pickup_reminder::table
        .inner_join(message::table.on(pickup_reminder::message_id.eq(message::id)))
        .select((pickup_reminder::reservation_id, message::reservation_id))
        .load(c)?;
    let faults = rows
        .iter()
        .filter(|(order, said)| *said != Some(*order))
        .map(|(order, _)| format!("the pickup reminder of reservation {order} is not a message of that order"))
        .collect();
    Ok(Checked { rule: "18 every reminder of pickup is a message of its order", looked_at: rows.len(), faults })
}

/// 9: one calendar feed works at most, and only hashes of its addresses are stored.
pub(super) fn feeds(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(String, Option<At>)> =
        calendar_feed::table.select((calendar_feed::token_hash, calendar_feed::ended_at)).load(c)?;
    let mut faults = Vec::new();
    if rows.iter().filter(|(_, ended)| ended.is_none()).count() > 1 {
        faults.push("more than one calendar feed works".to_string());
    }
    // A SHA-256 in base64 without padding has 43 characters; a token has 32.
    if rows.iter().any(|(hash, _)| hash.len() != 43) {
        faults.push("the address of a calendar feed is not stored as a hash".to_string());
    }
    Ok(Checked { rule: "9  one calendar feed works at most; only hashes are stored", looked_at: rows.len(), faults })
}

/// 18: storage that was charged stands on the order or its invoice, with the same amount.
pub(super) fn storage(c: &mut DbConn) -> QueryResult<Checked> {
    type Row = (ReservationId, Money, Option<(ReservationId, Money)>, Option<(InvoiceId, Money)>);
    let rows: Vec<Row> = storage_charge::table
        .left_join(order_charge::table.on(storage_charge::order_charge_id.eq(order_charge::id.nullable())))
        .left_join(invoice_change::table.on(storage_charge::change_id.eq(invoice_change::id.nullable())))
        .select((
            storage_charge::reservation_id,
            storage_charge::amount,
            (order_charge::reservation_id, order_charge::amount).nullable(),
            (invoice_change::invoice_id, invoice_change::amount).nullable(),
        ))
        .load(c)?;
    let invoices: Vec<_> = rows.iter().filter_map(|(.., change)| change.map(|(id, _)| id)).collect();
    let of: BTreeMap<InvoiceId, ReservationId> = invoice::table
        .filter(invoice::id.eq_any(invoices))
        .select((invoice::id, invoice::reservation_id))
        .load(c)?
        .into_iter()
        .collect();
    let faults = rows
        .iter()
        .filter(|(order, amount, line, change)| {
            let stands = line.or_else(|| change.and_then(|(id, m)| Some((of.get(&id).copied()?, m))));
            stands != Some((*order, *amount))
        })
        .map(|(order, amount, ..)| format!("storage of {} of reservation {order} stands nowhere so", amount.dollars()))
        .collect();
    Ok(Checked {
        rule: "18 storage that was charged stands on its order or invoice, to the cent",
        looked_at: rows.len(),
        faults,
    })
}
