//! Animals: withdrawal periods, and weights and charges that add up over the shares of a head.

use super::Checked;
use crate::book::animals::earliest_kill_day;
use crate::book::carcasses::{self, BilledError};
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::ids::{AnimalId, ChargeId, ReservationId};
use crate::book::rows::animals::Treatment;
use crate::book::schema::*;
use crate::trade::charge::deal_per_head;
use crate::trade::dates::full;
use crate::trade::money::Money;
use crate::trade::share::Size;
use crate::trade::vocabulary::Per;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::BTreeMap;

/// 8: no animal is on a processing date before its withdrawal period ends.
pub(super) fn withdrawals(c: &mut DbConn) -> QueryResult<Checked> {
    let treated: Vec<(AnimalId, String, NaiveDate, Treatment)> = treatment::table
        .inner_join(animal::table.inner_join(processing_date::table))
        .filter(animal::lost_on.is_null())
        .order(animal::id)
        .select((animal::id, animal::tag, processing_date::kill_on, Treatment::as_select()))
        .load(c)?;
    let mut by_animal: BTreeMap<AnimalId, (String, NaiveDate, Vec<Treatment>)> = BTreeMap::new();
    for (id, tag, kill_on, one) in treated {
        by_animal.entry(id).or_insert((tag, kill_on, Vec::new())).2.push(one);
    }
    let mut faults = Vec::new();
    for (tag, kill_on, treatments) in by_animal.values() {
        match earliest_kill_day(treatments) {
            Ok(Some(day)) if day > *kill_on => faults.push(format!(
                "animal {tag} is booked for {} and may not be killed before {}; take it off that date",
                full(*kill_on),
                full(day)
            )),
            Ok(_) => {}
            Err(e) => faults.push(format!("the withdrawal period of animal {tag} cannot be reckoned: {e}")),
        }
    }
    let rule = "8  no animal is on a processing date inside a withdrawal period";
    Ok(Checked { rule, looked_at: by_animal.len(), faults })
}

/// 2: the billed weights of an animal add up to what hung, and invoices billed those weights.
pub(super) fn billed_weights(c: &mut DbConn) -> QueryResult<Checked> {
    let rule = "2  the weights billed of an animal add up to its hanging weight, and its invoices say the same";
    let farm = farm::get(c)?;
    let weighed: Vec<AnimalId> = weigh_in::table.order(weigh_in::animal_id).select(weigh_in::animal_id).load(c)?;
    let invoiced: BTreeMap<ReservationId, (String, Option<Weight>)> =
        standing_invoices(c)?.into_iter().map(|(order, number, weight)| (order, (number, weight))).collect();
    let mut faults = Vec::new();
    for some in weighed.chunks(500) {
        let carcasses = match carcasses::billed_weights(c, &farm, some) {
            Ok(carcasses) => carcasses,
            Err(BilledError::Db(e)) => return Err(e),
            Err(e) => {
                faults.push(e.to_string());
                continue;
            }
        };
        for one in carcasses {
            if !one.adds_up {
                faults.push(format!(
                    "the shares of animal {} do not add up to the {} that hung",
                    one.tag,
                    one.total.shown()
                ));
            }
            for share in one.shares {
                if let Some((number, Some(billed))) = invoiced.get(&share.reservation)
                    && *billed != share.weight
                {
                    faults.push(format!(
                        "invoice {number} billed {}; the share of animal {} comes to {}",
                        billed.shown(),
                        one.tag,
                        share.weight.shown()
                    ));
                }
            }
        }
    }
    Ok(Checked { rule, looked_at: weighed.len(), faults })
}

/// Invoices that no credit note voids: order, number, billed weight.
fn standing_invoices(c: &mut DbConn) -> QueryResult<Vec<(ReservationId, String, Option<Weight>)>> {
    invoice::table
        .left_join(credit_note::table)
        .filter(credit_note::id.nullable().is_null())
        .select((invoice::reservation_id, invoice::number, invoice::billed_weight))
        .load(c)
}

/// 3: a charge per head is dealt out over the owners of the head to the cent. Looked at where every quarter of a head was
/// invoiced at the same moment: what was dealt later may rest on a changed charge.
pub(super) fn dealt_charges(c: &mut DbConn) -> QueryResult<Checked> {
    type Dealt = (AnimalId, i64, ChargeId, String, ReservationId, Size, Money);
    let quarters: Vec<Dealt> = invoice_line::table
        .inner_join(processor_charge::table)
        .inner_join(invoice::table.inner_join(reservation::table.inner_join(placement::table)))
        .filter(processor_charge::per.eq(Per::Head))
        .filter(processor_charge::size.is_null())
        .order((placement::animal_id, reservation::id))
        .distinct()
        .select((
            placement::animal_id,
            invoice::issued_at,
            processor_charge::id,
            invoice_line::name,
            reservation::id,
            reservation::size,
            invoice_line::amount,
        ))
        .load(c)?;
    let mut together: BTreeMap<(AnimalId, i64, ChargeId, String), Vec<(i64, Money)>> = BTreeMap::new();
    for (animal, at, charge, name, _, size, amount) in quarters {
        together.entry((animal, at, charge, name)).or_default().push((size.quarters(), amount));
    }
    let (mut looked_at, mut faults) = (0, Vec::new());
    for ((animal, _, _, name), parts) in together {
        let owners: Vec<i64> = parts.iter().map(|(q, _)| *q).collect();
        if owners.iter().sum::<i64>() != 4 {
            continue;
        }
        looked_at += 1;
        let whole = Money::sum(parts.iter().map(|(_, m)| *m)).ok();
        let due = whole.and_then(|w| deal_per_head(w, &owners)).map(|d| d.owners);
        if due.as_deref() != Some(&parts.iter().map(|(_, m)| *m).collect::<Vec<_>>()) {
            faults.push(format!("“{name}” is not dealt out evenly over the owners of animal {animal}"));
        }
    }
    Ok(Checked { rule: "3  charges per head are dealt out over the owners to the cent", looked_at, faults })
}
