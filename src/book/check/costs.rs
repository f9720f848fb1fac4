//! What animals cost, bills of sale, letters about balances, interest.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::costs::lots;
use crate::book::ids::{BalanceLetterId, BillOfSaleId, CostId, CustomerId, InvoiceId};
use crate::book::schema::{
    balance_letter, bill_of_sale, cost, interest_charge, invoice, invoice_change, message, weigh_in,
};
use crate::trade::ledger::ChangeKind;
use crate::trade::money::Money;
use crate::trade::overdue::{Tone, months_late};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// 22: every cost is of an animal, of a day on which it was known, and what its animals bear adds up to it.
pub(super) fn costs(c: &mut DbConn) -> QueryResult<Checked> {
    let all: Vec<(CostId, Money, NaiveDate, crate::book::at::At)> =
        cost::table.order(cost::id).select((cost::id, cost::amount, cost::on_day, cost::made_at)).load(c)?;
    let mut borne: HashMap<CostId, Money> = HashMap::new();
    // In handfuls, because engines limit how many values a question may name.
    for some in all.chunks(5_000) {
        for lot in lots(c, &some.iter().map(|(id, ..)| *id).collect::<Vec<_>>())? {
            borne.insert(lot.cost.id, Money::sum(lot.heads.iter().map(|h| h.part)).unwrap_or_default());
        }
    }
    let mut faults = Vec::new();
    for (id, amount, on_day, made_at) in &all {
        match borne.get(id) {
            None => faults.push(format!("cost {id} is of no animal")),
            Some(sum) if sum != amount => {
                faults.push(format!("what animals bear of cost {id} is {sum:?}, not {amount:?}"))
            }
            Some(_) => {}
        }
        // A day later, because the farm's clock may run before that of the world.
        if made_at.utc().date_naive().succ_opt().is_some_and(|day| *on_day > day) {
            faults.push(format!("cost {id} is of a day after it was entered"));
        }
    }
    Ok(Checked {
        rule: "22 every cost is of an animal, of a day on which it was known, and its parts add up",
        looked_at: all.len(),
        faults,
    })
}

/// 23: a bill of sale was made for a share of a live animal: before the day of slaughter it was made for, and before the animal was
/// weighed in.
pub(super) fn bills_of_sale(c: &mut DbConn) -> QueryResult<Checked> {
    type Row = (BillOfSaleId, NaiveDate, Option<NaiveDate>, Option<NaiveDate>);
    let rows: Vec<Row> = bill_of_sale::table
        .left_join(weigh_in::table.on(weigh_in::animal_id.eq(bill_of_sale::animal_id)))
        .order(bill_of_sale::id)
        .select((bill_of_sale::id, bill_of_sale::made_on, bill_of_sale::kill_on, weigh_in::weighed_on.nullable()))
        .load(c)?;
    let mut faults = Vec::new();
    for (id, made_on, kill_on, weighed_on) in &rows {
        if [kill_on, weighed_on].into_iter().flatten().any(|day| day <= made_on) {
            faults.push(format!("bill of sale {id} was made when its animal was not alive any more"));
        }
    }
    Ok(Checked { rule: "23 every bill of sale was made while its animal was alive", looked_at: rows.len(), faults })
}

/// 24: a letter about a balance is a message to the customer of its invoice in the words of its tone; interest stands on its invoice as a
/// charge, and no month of it was charged twice.
pub(super) fn balances(c: &mut DbConn) -> QueryResult<Checked> {
    type Letter = (BalanceLetterId, Tone, String, Option<CustomerId>, CustomerId);
    let letters: Vec<Letter> = balance_letter::table
        .inner_join(message::table)
        .inner_join(invoice::table)
        .order(balance_letter::id)
        .select((
            balance_letter::id,
            balance_letter::tone,
            message::purpose,
            message::customer_id,
            invoice::customer_id,
        ))
        .load(c)?;
    let mut faults = Vec::new();
    for (id, tone, purpose, to, owes) in &letters {
        let words = match tone {
            Tone::Friendly => "balance_reminder",
            Tone::Firm => "balance_firm",
            Tone::Last => "balance_last",
        };
        if purpose != words || to.is_some_and(|to| to != *owes) {
            faults.push(format!("letter {id} about a balance is not the message it says"));
        }
    }
    type Interest = (InvoiceId, i64, NaiveDate, InvoiceId, ChangeKind, Option<NaiveDate>);
    let interest: Vec<Interest> = interest_charge::table
        .inner_join(invoice_change::table)
        .inner_join(invoice::table.on(invoice::id.eq(interest_charge::invoice_id)))
        .order((interest_charge::invoice_id, interest_charge::through_day))
        .select((
            interest_charge::invoice_id,
            interest_charge::months,
            interest_charge::through_day,
            invoice_change::invoice_id,
            invoice_change::kind,
            invoice::due_on,
        ))
        .load(c)?;
    let mut months: HashMap<InvoiceId, i64> = HashMap::new();
    for (id, n, through, on, kind, due_on) in &interest {
        let so_far = months.entry(*id).or_insert(0);
        *so_far = so_far.saturating_add(*n);
        if id != on || *kind != ChangeKind::Charge || i64::from(months_late(*due_on, *through)) != *so_far {
            faults.push(format!("interest on invoice {id} does not stand on it month by month"));
        }
    }
    Ok(Checked {
        rule: "24 every letter about a balance went to who owes it; interest stands on its invoice month by month",
        looked_at: letters.len().saturating_add(interest.len()),
        faults,
    })
}
