//! The bank: money that was matched is the payment it became, lines have the amounts of what they are, slips add up.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{BankLineId, PaymentId, SlipId, UnmatchedId};
use crate::book::rows::bank::{BankTie, Slip, SlipItem, Unmatched};
use crate::book::rows::money::Payment;
use crate::book::schema::*;
use crate::book::slips::{Item, item_of};
use crate::trade::bank::TieKind;
use crate::trade::money::Money;
use crate::trade::vocabulary::{PayMethod, PaymentKind};
use diesel::prelude::*;
use std::collections::{HashMap, HashSet};

fn payments(c: &mut DbConn) -> QueryResult<HashMap<PaymentId, Payment>> {
    Ok(payment::table.select(Payment::as_select()).load(c)?.into_iter().map(|p: Payment| (p.id, p)).collect())
}

fn unmatched(c: &mut DbConn) -> QueryResult<Vec<Unmatched>> {
    unmatched_money::table.order(unmatched_money::id).select(Unmatched::as_select()).load(c)
}

/// 25: money that was matched is the payment it became, and what was given back is none.
pub(super) fn matched(c: &mut DbConn) -> QueryResult<Checked> {
    let (all, payments) = (unmatched(c)?, payments(c)?);
    let mut faults = Vec::new();
    for u in &all {
        let Some(id) = u.payment_id else { continue };
        let same = payments.get(&id).is_some_and(|p| {
            let what = (p.kind, p.method, p.amount, p.received_on);
            what == (PaymentKind::Received, u.method, u.amount, u.received_on)
        });
        if !same {
            faults.push(format!("money {} that was not matched is not the payment {id} it became", u.id));
        }
    }
    Ok(Checked { rule: "25 money that was matched is the payment it became", looked_at: all.len(), faults })
}

/// 25: a line of the bank has the amount of what it is; nothing on a slip, and nothing that was matched, is tied by itself.
pub(super) fn ties(c: &mut DbConn) -> QueryResult<Checked> {
    let payments = payments(c)?;
    let nobodys: HashMap<UnmatchedId, Unmatched> = unmatched(c)?.into_iter().map(|u| (u.id, u)).collect();
    let became: HashSet<PaymentId> = nobodys.values().filter_map(|u| u.payment_id).collect();
    let slips: HashMap<SlipId, Money> =
        deposit_slip::table.select((deposit_slip::id, deposit_slip::total)).load(c)?.into_iter().collect();
    let items: Vec<SlipItem> = deposit_slip_item::table.select(SlipItem::as_select()).load(c)?;
    let on_slip: HashSet<Item> = items.iter().filter_map(item_of).collect();
    let lines: HashMap<BankLineId, Money> =
        bank_line::table.select((bank_line::id, bank_line::amount)).load(c)?.into_iter().collect();
    let ties: Vec<BankTie> = bank_tie::table.order(bank_tie::line_id).select(BankTie::as_select()).load(c)?;
    let mut faults = Vec::new();
    for tie in &ties {
        let id = tie.line_id;
        let payment = tie.payment_id.and_then(|p| payments.get(&p));
        let nobody = tie.unmatched_id.and_then(|u| nobodys.get(&u));
        let (amount, alone) = match tie.kind {
            TieKind::Payment => {
                let came_in = payment.filter(|p| p.kind == PaymentKind::Received);
                (came_in.map(|p| p.amount), tie.payment_id.map(Item::Payment))
            }
            TieKind::Refund => (payment.filter(|p| p.kind == PaymentKind::Refund).map(|p| p.amount.negated()), None),
            TieKind::Unmatched => (nobody.map(|u| u.amount), tie.unmatched_id.map(Item::Unmatched)),
            TieKind::GivenBack => (nobody.filter(|u| u.back_on.is_some()).map(|u| u.amount.negated()), None),
            TieKind::Slip => (tie.slip_id.and_then(|s| slips.get(&s).copied()), None),
            TieKind::Aside => continue,
        };
        if amount.is_none() || amount != lines.get(&id).copied() {
            faults.push(format!("line {id} of the bank is not what it is tied to"));
        }
        if alone.is_some_and(|item| on_slip.contains(&item)) {
            faults.push(format!("line {id} of the bank is tied to something on a deposit slip"));
        }
        if tie.payment_id.is_some_and(|p| became.contains(&p)) {
            faults.push(format!("line {id} of the bank is tied to a payment that came in as not matched"));
        }
    }
    Ok(Checked { rule: "25 a line of the bank has the amount of what it is", looked_at: ties.len(), faults })
}

/// 25: a slip holds cash and checks that came in, and its total is the cash that was counted and its checks.
pub(super) fn slips(c: &mut DbConn) -> QueryResult<Checked> {
    let payments = payments(c)?;
    let nobodys: HashMap<UnmatchedId, Unmatched> = unmatched(c)?.into_iter().map(|u| (u.id, u)).collect();
    let all: Vec<Slip> = deposit_slip::table.order(deposit_slip::id).select(Slip::as_select()).load(c)?;
    let items: Vec<SlipItem> = deposit_slip_item::table.select(SlipItem::as_select()).load(c)?;
    let mut faults = Vec::new();
    for slip in &all {
        let mut checks = 0_i64;
        for item in items.iter().filter(|i| i.slip_id == slip.id).filter_map(item_of) {
            let money = match item {
                Item::Payment(id) => payments
                    .get(&id)
                    .filter(|p| p.kind == PaymentKind::Received && p.received_on <= slip.made_on)
                    .map(|p| (p.method, p.amount)),
                Item::Unmatched(id) => {
                    nobodys.get(&id).filter(|u| u.received_on <= slip.made_on).map(|u| (u.method, u.amount))
                }
            };
            match money {
                Some((PayMethod::Check, amount)) => checks = checks.saturating_add(amount.cents()),
                Some((PayMethod::Cash, _)) => {}
                _ => faults
                    .push(format!("something on deposit slip {} is neither cash nor a check that came in", slip.id)),
            }
        }
        if slip.cash.cents().saturating_add(checks) != slip.total.cents() {
            faults.push(format!("deposit slip {} does not add up", slip.id));
        }
    }
    Ok(Checked { rule: "25 a deposit slip is the cash that was counted and its checks", looked_at: all.len(), faults })
}
