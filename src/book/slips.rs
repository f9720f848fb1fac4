//! The takings of a day, and bank deposit slips: which cash and checks were taken to the bank.

use super::bank_open::payers;
use super::conn::DbConn;
use super::ids::{CustomerId, PaymentId, SlipId, UnmatchedId};
use super::rows::bank::{NewSlip, Slip, SlipItem, Unmatched};
use super::rows::money::Payment;
use super::schema::{bank_tie, customer, deposit_slip, deposit_slip_item, payment, payment_pair, unmatched_money};
use super::store::Tx;
use crate::trade::bank::TieKind;
use crate::trade::ledger::PairKind;
use crate::trade::money::Money;
use crate::trade::vocabulary::{PayMethod, PaymentKind};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{HashMap, HashSet};

/// Money on hand that may go on a slip, at most.
const MOST: i64 = 300;

/// Which money: a payment, or money that was not matched when it came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Item {
    /// A payment.
    Payment(PaymentId),
    /// Not matched when it came in.
    Unmatched(UnmatchedId),
}

/// Money that came in, whoever's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CameIn {
    /// Which.
    pub item: Item,
    /// From whom; the words of the bank while it is not known.
    pub from: String,
    /// The customer, when known.
    pub customer: Option<CustomerId>,
    /// How.
    pub method: PayMethod,
    /// How much.
    pub amount: Money,
    /// The day.
    pub day: NaiveDate,
    /// The check's number.
    pub reference: String,
    /// The slip it is on.
    pub slip: Option<SlipId>,
    /// Whether a line of the bank is tied to it, or the bank returned it.
    pub at_bank: bool,
}

/// What came in from one day through another, in the order in which it was recorded, at most `limit` of each kind.
fn came_in(c: &mut DbConn, from: NaiveDate, to: NaiveDate, limit: i64) -> QueryResult<Vec<CameIn>> {
    let moved = payment_pair::table.filter(payment_pair::kind.eq(PairKind::Moved)).select(payment_pair::second_id);
    let nobodys = unmatched_money::table.filter(unmatched_money::payment_id.is_not_null());
    let payments: Vec<(Payment, String)> = payment::table
        .inner_join(customer::table)
        .filter(payment::kind.eq(PaymentKind::Received))
        .filter(payment::received_on.ge(from))
        .filter(payment::received_on.le(to))
        .filter(payment::id.ne_all(moved))
        .filter(payment::id.nullable().ne_all(nobodys.select(unmatched_money::payment_id)))
        .order((payment::received_on.desc(), payment::id.desc()))
        .limit(limit)
        .select((Payment::as_select(), customer::name))
        .load(c)?;
    let unmatched: Vec<Unmatched> = unmatched_money::table
        .filter(unmatched_money::received_on.ge(from))
        .filter(unmatched_money::received_on.le(to))
        .order((unmatched_money::received_on.desc(), unmatched_money::id.desc()))
        .limit(limit)
        .select(Unmatched::as_select())
        .load(c)?;
    let became: Vec<PaymentId> = unmatched.iter().filter_map(|u| u.payment_id).collect();
    let whose = payers(c, &became)?;
    // The newest were asked for, the oldest come first; of a day, payments before what was not matched.
    let mut all: Vec<CameIn> = payments
        .into_iter()
        .rev()
        .map(|(p, name)| CameIn {
            item: Item::Payment(p.id),
            from: name,
            customer: Some(p.customer_id),
            method: p.method,
            amount: p.amount,
            day: p.received_on,
            reference: p.reference,
            slip: None,
            at_bank: false,
        })
        .collect();
    all.extend(unmatched.into_iter().rev().map(|u| {
        let known = u.payment_id.and_then(|id| whose.get(&id).cloned());
        let (customer, from) = known.map_or((None, u.payer), |(id, name)| (Some(id), name));
        CameIn {
            item: Item::Unmatched(u.id),
            from,
            customer,
            method: u.method,
            amount: u.amount,
            day: u.received_on,
            reference: u.reference,
            slip: None,
            at_bank: false,
        }
    }));
    mark(c, &mut all)?;
    all.sort_by_key(|m| m.day);
    Ok(all)
}

/// Fills in the slips and what is at the bank.
fn mark(c: &mut DbConn, all: &mut [CameIn]) -> QueryResult<()> {
    let (mut payments, mut unmatched) = (Vec::new(), Vec::new());
    for m in all.iter() {
        match m.item {
            Item::Payment(id) => payments.push(id),
            Item::Unmatched(id) => unmatched.push(id),
        }
    }
    let rows: Vec<SlipItem> = deposit_slip_item::table
        .filter(
            deposit_slip_item::payment_id
                .eq_any(payments.clone())
                .or(deposit_slip_item::unmatched_id.eq_any(unmatched.clone())),
        )
        .select(SlipItem::as_select())
        .load(c)?;
    let slips: HashMap<Item, SlipId> = rows.iter().filter_map(|r| Some((item_of(r)?, r.slip_id))).collect();
    // What the bank returned was there.
    let returned: Vec<PaymentId> = payment_pair::table
        .filter(payment_pair::kind.eq(PairKind::Bounced))
        .filter(payment_pair::first_id.eq_any(payments.clone()))
        .select(payment_pair::first_id)
        .load(c)?;
    let bounced = payment_pair::table.filter(payment_pair::kind.eq(PairKind::Bounced));
    let returned_nobodys: Vec<UnmatchedId> = unmatched_money::table
        .filter(unmatched_money::id.eq_any(unmatched.clone()))
        .filter(unmatched_money::payment_id.eq_any(bounced.select(payment_pair::first_id.nullable())))
        .select(unmatched_money::id)
        .load(c)?;
    let ties: Vec<(Option<PaymentId>, Option<UnmatchedId>)> = bank_tie::table
        .filter(bank_tie::payment_id.eq_any(payments).or(bank_tie::unmatched_id.eq_any(unmatched)))
        .filter(bank_tie::kind.ne(TieKind::GivenBack))
        .select((bank_tie::payment_id, bank_tie::unmatched_id))
        .load(c)?;
    let mut tied: HashSet<Item> =
        ties.into_iter().filter_map(|(p, u)| p.map(Item::Payment).or(u.map(Item::Unmatched))).collect();
    tied.extend(returned.into_iter().map(Item::Payment));
    tied.extend(returned_nobodys.into_iter().map(Item::Unmatched));
    for m in all {
        m.slip = slips.get(&m.item).copied();
        m.at_bank = tied.contains(&m.item);
    }
    Ok(())
}

/// What a row of a slip is about.
pub const fn item_of(row: &SlipItem) -> Option<Item> {
    match (row.payment_id, row.unmatched_id) {
        (Some(id), _) => Some(Item::Payment(id)),
        (None, Some(id)) => Some(Item::Unmatched(id)),
        (None, None) => None,
    }
}

/// What came in on a day.
///
/// # Errors
/// The database's own.
pub fn of_day(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<CameIn>> {
    came_in(c, day, day, MOST)
}

/// Cash and checks that came in up to a day, are on no slip, and no line of the bank is tied to.
///
/// # Errors
/// The database's own.
pub fn on_hand(c: &mut DbConn, from: NaiveDate, to: NaiveDate) -> QueryResult<Vec<CameIn>> {
    let all = came_in(c, from, to, MOST)?;
    let can = |m: &CameIn| matches!(m.method, PayMethod::Cash | PayMethod::Check) && m.slip.is_none() && !m.at_bank;
    Ok(all.into_iter().filter(can).collect())
}

/// Writes a slip.
///
/// # Errors
/// The database's own; a unique violation when something is on a slip already.
pub fn insert(tx: &mut Tx, new: &NewSlip, items: &[Item]) -> QueryResult<SlipId> {
    let c = tx.conn();
    let id: SlipId =
        diesel::insert_into(deposit_slip::table).values(new.clone()).returning(deposit_slip::id).get_result(c)?;
    for (position, item) in (0_i64..).zip(items) {
        let (payment_id, unmatched_id) = match item {
            Item::Payment(id) => (Some(*id), None),
            Item::Unmatched(id) => (None, Some(*id)),
        };
        let row = SlipItem { slip_id: id, position, payment_id, unmatched_id };
        diesel::insert_into(deposit_slip_item::table).values(row).execute(c)?;
    }
    Ok(id)
}

/// One slip.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: SlipId) -> QueryResult<Slip> {
    deposit_slip::table.find(id).select(Slip::as_select()).first(c)
}

/// The latest slips, newest first, and whether each stands on a statement.
///
/// # Errors
/// The database's own.
pub fn latest(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(Slip, bool)>> {
    let rows: Vec<Slip> =
        deposit_slip::table.order(deposit_slip::id.desc()).limit(limit).select(Slip::as_select()).load(c)?;
    let ids: Vec<SlipId> = rows.iter().map(|s| s.id).collect();
    let tied: HashSet<Option<SlipId>> =
        bank_tie::table.filter(bank_tie::slip_id.eq_any(ids)).select(bank_tie::slip_id).load(c)?.into_iter().collect();
    Ok(rows
        .into_iter()
        .map(|s| {
            let at_bank = tied.contains(&Some(s.id));
            (s, at_bank)
        })
        .collect())
}

/// Takes a slip apart: what is on it may go on another one.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, id: SlipId) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(deposit_slip_item::table.filter(deposit_slip_item::slip_id.eq(id))).execute(c)?;
    diesel::delete(deposit_slip::table.find(id)).execute(c)?;
    Ok(())
}

/// Whether a payment or money not matched is on a slip.
///
/// # Errors
/// The database's own.
pub fn slip_of(c: &mut DbConn, item: Item) -> QueryResult<Option<SlipId>> {
    let mut query = deposit_slip_item::table.select(deposit_slip_item::slip_id).into_boxed();
    query = match item {
        Item::Payment(id) => query.filter(deposit_slip_item::payment_id.eq(id)),
        Item::Unmatched(id) => query.filter(deposit_slip_item::unmatched_id.eq(id)),
    };
    query.first(c).optional()
}
