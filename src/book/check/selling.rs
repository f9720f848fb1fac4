//! What is sold: quarters, head, numbers and locked prices.

use super::Checked;
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, OfferingId, ReservationId};
use crate::book::schema::*;
use crate::trade::money::{Money, Rate};
use crate::trade::number::Series;
use crate::trade::room::Sold;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::{OfferEnd, PriceBasis, Slot};
use diesel::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// 1: shares on one animal never exceed four quarters, nor two on one side, and each share has all its quarters.
pub(super) fn owners(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(AnimalId, Slot, ReservationId, Size, Option<Part>)> = placement::table
        .inner_join(reservation::table)
        .select((
            placement::animal_id,
            placement::slot,
            placement::reservation_id,
            reservation::size,
            reservation::part,
        ))
        .order((placement::animal_id, placement::slot))
        .load(c)?;
    let mut faults = Vec::new();
    let mut by_share: BTreeMap<(AnimalId, ReservationId), (Size, Vec<Slot>)> = BTreeMap::new();
    let mut animals_of: BTreeMap<ReservationId, BTreeSet<AnimalId>> = BTreeMap::new();
    for (animal, slot, res, size, part) in &rows {
        by_share.entry((*animal, *res)).or_insert((*size, Vec::new())).1.push(*slot);
        animals_of.entry(*res).or_default().insert(*animal);
        let fore_or_hind =
            matches!((part, slot), (Some(Part::Fore), Slot::L2 | Slot::R2) | (Some(Part::Hind), Slot::L1 | Slot::R1));
        if fore_or_hind {
            faults
                .push(format!("reservation {res} has a fore or hind quarter in the other’s place on animal {animal}"));
        }
    }
    for ((animal, res), (size, slots)) in &by_share {
        let one_side = slots.iter().all(|s| slots.first().is_some_and(|f| f.side() == s.side()));
        if slots.len() as i64 != size.quarters() || (*size == Size::Half && !one_side) {
            faults.push(format!(
                "reservation {res} ({size}) holds {} quarters of animal {animal}, or on two sides",
                slots.len()
            ));
        }
    }
    for (res, animals) in animals_of.iter().filter(|(_, a)| a.len() > 1) {
        faults.push(format!("reservation {res} is on {} animals", animals.len()));
    }
    Ok(Checked {
        rule: "1  no quarter of an animal has two owners, and every share has its own quarters",
        looked_at: rows.len(),
        faults,
    })
}

/// 1: offerings never oversell: two sides a head.
pub(super) fn offerings(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(OfferingId, i64, String)> =
        offering::table.select((offering::id, offering::head_count, offering::season)).load(c)?;
    let mut faults = Vec::new();
    let held: Vec<(OfferingId, Size, Option<Part>)> = reservation::table
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .select((reservation::offering_id, reservation::size, reservation::part))
        .load(c)?;
    let ids: Vec<_> = rows.iter().map(|r| r.0).collect();
    let held: Vec<_> = held.into_iter().chain(crate::book::waiting_offers::held(c, &ids)?).collect();
    for (id, head, season) in &rows {
        let sold = Sold::count(held.iter().filter(|(o, ..)| o == id).map(|(_, size, part)| (*size, *part)));
        if !sold.fits(*head) {
            faults.push(format!("offering {id} ({season}) has {head} head, and {} sides are reserved", sold.sides()));
        }
    }
    Ok(Checked { rule: "1  no offering is sold beyond its head", looked_at: rows.len(), faults })
}

/// 1: what is held by an open offer is held for an order that waits, of the same offering.
pub(super) fn offers(c: &mut DbConn) -> QueryResult<Checked> {
    type Row = (ReservationId, OfferingId, OfferingId, Option<At>, Option<At>, Option<OfferEnd>);
    let rows: Vec<Row> = waiting_offer::table
        .inner_join(reservation::table)
        .order(waiting_offer::id)
        .select((
            waiting_offer::reservation_id,
            waiting_offer::offering_id,
            reservation::offering_id,
            reservation::waiting_since,
            reservation::cancelled_at,
            waiting_offer::outcome,
        ))
        .load(c)?;
    let faults = rows
        .iter()
        .filter(|(_, of, own, waits, cancelled, end)| {
            of != own || (end.is_none() && (waits.is_none() || cancelled.is_some()))
        })
        .map(|(id, ..)| format!("a share is held for reservation {id}, which does not wait for it"))
        .collect();
    Ok(Checked { rule: "1  what is offered is held for an order on the waiting list", looked_at: rows.len(), faults })
}

/// 5: numbers have no gap and no repeat.
pub(super) fn numbers(c: &mut DbConn) -> QueryResult<Checked> {
    let counters: BTreeMap<String, i64> = counter::table.load::<(String, i64)>(c)?.into_iter().collect();
    let mut faults = Vec::new();
    let mut looked_at = 0;
    let mut credit_notes: Vec<String> = credit_note::table.select(credit_note::number).load(c)?;
    let of_parts: Vec<Option<String>> = invoice_change::table.select(invoice_change::number).load(c)?;
    credit_notes.extend(of_parts.into_iter().flatten());
    let all: [(Series, Vec<String>); 5] = [
        (Series::Order, reservation::table.select(reservation::number).load(c)?),
        (Series::Invoice, invoice::table.select(invoice::number).load(c)?),
        (Series::Receipt, receipt::table.select(receipt::number).load(c)?),
        (Series::CreditNote, credit_notes),
        (Series::Refund, refund_slip::table.select(refund_slip::number).load(c)?),
    ];
    for (series, numbers) in all {
        let mut years: BTreeMap<i32, BTreeSet<i64>> = BTreeMap::new();
        looked_at += numbers.len();
        for number in &numbers {
            let Some((_, year, n)) = Series::read(number).filter(|(s, ..)| *s == series) else {
                faults.push(format!("{} number “{number}” is not one of ours", series.label()));
                continue;
            };
            if !years.entry(year).or_default().insert(n) {
                faults.push(format!("{} number “{number}” is there twice", series.label()));
            }
        }
        for (year, seen) in years {
            let last = counters.get(&series.counter(year)).copied().unwrap_or(0);
            if seen.len() as i64 != last || seen.first() != Some(&1) || seen.last() != Some(&last) {
                faults.push(format!(
                    "{} numbers of {year}: {} of them, the counter stands at {last}",
                    series.label(),
                    seen.len()
                ));
            }
        }
    }
    Ok(Checked {
        rule: "5  order, invoice, receipt, credit-note and refund-slip numbers have no gap and no repeat",
        looked_at,
        faults,
    })
}

/// 7: the price in a reservation is one that stood in the price list on the day it was locked.
pub(super) fn locked_prices(c: &mut DbConn) -> QueryResult<Checked> {
    type Locked = (String, OfferingId, Size, PriceBasis, Option<Rate>, Option<Money>, chrono::NaiveDate);
    let rows: Vec<Locked> = reservation::table
        .select((
            reservation::number,
            reservation::offering_id,
            reservation::size,
            reservation::price_basis,
            reservation::rate,
            reservation::flat_price,
            reservation::price_locked_on,
        ))
        .load(c)?;
    type Listed = (OfferingId, Size, PriceBasis, Option<Rate>, Option<Money>, chrono::NaiveDate);
    let list: Vec<Listed> = price::table
        .select((price::offering_id, price::size, price::basis, price::rate, price::flat_price, price::effective_from))
        .load(c)?;
    let faults = rows
        .iter()
        .filter(|(_, o, s, b, r, f, day)| {
            !list
                .iter()
                .any(|(lo, ls, lb, lr, lf, from)| lo == o && ls == s && lb == b && lr == r && lf == f && from <= day)
        })
        .map(|(number, ..)| format!("order {number} has a price that was never on the price list of its day"))
        .collect();
    Ok(Checked {
        rule: "7  every locked price stood on the price list when it was locked",
        looked_at: rows.len(),
        faults,
    })
}
