//! Money: invoices are the sum of their lines, and every cent received is somewhere.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId};
use crate::book::schema::*;
use crate::trade::money::Money;
use crate::trade::vocabulary::{BilledBy, PaymentKind};
use diesel::prelude::*;
use std::collections::BTreeMap;

/// 4: an issued invoice's lines add up to its totals.
pub(super) fn invoices_add_up(c: &mut DbConn) -> QueryResult<Checked> {
    let invoices: Vec<(InvoiceId, String, Money, Money, Money, Money)> = invoice::table
        .select((
            invoice::id,
            invoice::number,
            invoice::farm_total,
            invoice::farm_tax,
            invoice::processor_total,
            invoice::processor_tax,
        ))
        .load(c)?;
    let lines: Vec<(InvoiceId, Money, Money, BilledBy)> = invoice_line::table
        .select((invoice_line::invoice_id, invoice_line::amount, invoice_line::tax, invoice_line::billed_by))
        .load(c)?;
    let mut sums: BTreeMap<InvoiceId, [i64; 4]> = BTreeMap::new();
    for (id, amount, tax, by) in lines {
        let [farm, farm_tax, plant, plant_tax] = sums.entry(id).or_default();
        if by == BilledBy::Farm {
            *farm += amount.cents();
            *farm_tax += tax.cents();
        } else {
            *plant += amount.cents();
            *plant_tax += tax.cents();
        }
    }
    let mut faults = Vec::new();
    for (id, number, farm, farm_tax, plant, plant_tax) in &invoices {
        let want = [farm.cents(), farm_tax.cents(), plant.cents(), plant_tax.cents()];
        if sums.get(id).copied().unwrap_or_default() != want {
            faults.push(format!("the lines of invoice {number} do not add up to it"));
        }
    }
    Ok(Checked { rule: "4  every issued invoice is the sum of its lines", looked_at: invoices.len(), faults })
}

/// 6: nothing is taken from a payment that was not in it, and no order or invoice holds less than nothing.
pub(super) fn allocations(c: &mut DbConn) -> QueryResult<Checked> {
    let payments: Vec<(PaymentId, CustomerId, PaymentKind, Money)> =
        payment::table.select((payment::id, payment::customer_id, payment::kind, payment::amount)).load(c)?;
    let rows: Vec<(PaymentId, Option<ReservationId>, Option<InvoiceId>, Money)> = allocation::table
        .select((allocation::payment_id, allocation::reservation_id, allocation::invoice_id, allocation::amount))
        .load(c)?;
    let mut faults = Vec::new();
    let mut of_payment: BTreeMap<PaymentId, i64> = BTreeMap::new();
    let mut held: BTreeMap<(PaymentId, Option<ReservationId>, Option<InvoiceId>), i64> = BTreeMap::new();
    for (p, r, i, amount) in &rows {
        *of_payment.entry(*p).or_default() += amount.cents();
        *held.entry((*p, *r, *i)).or_default() += amount.cents();
    }
    for ((p, r, i), sum) in held.iter().filter(|(_, sum)| **sum < 0) {
        faults.push(format!("payment {p}: {sum} cents stand for order {r:?}, invoice {i:?}"));
    }
    let mut credit: BTreeMap<CustomerId, i64> = BTreeMap::new();
    for (id, customer, kind, amount) in &payments {
        let allocated = of_payment.get(id).copied().unwrap_or(0);
        if allocated < 0 || allocated > amount.cents() {
            faults.push(format!("payment {id} of {} has {allocated} cents allocated", amount.dollars()));
        }
        let free = amount.cents() - allocated;
        *credit.entry(*customer).or_default() += if *kind == PaymentKind::Received { free } else { -amount.cents() };
    }
    faults.extend(
        credit
            .iter()
            .filter(|(_, n)| **n < 0)
            .map(|(id, n)| format!("customer {id} was given back {} cents more than was his", -n)),
    );
    Ok(Checked {
        rule: "6  every cent received is held as a deposit, paid on an invoice, credit, or given back",
        looked_at: payments.len() + rows.len(),
        faults,
    })
}
