//! The bank deposit slip: which cash and checks are taken to the bank, so that a check is on one slip only.

use super::letterhead::letterhead;
use super::{Doing, Failure};
use crate::book::bank;
use crate::book::conn::DbConn;
use crate::book::ids::SlipId;
use crate::book::rows::bank::{BankTie, NewSlip};
use crate::book::slips::{self, CameIn, Item};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, ids::BankLineId};
use crate::paper::deposit_slip::{Check, DepositSlip};
use crate::trade::bank::TieKind;
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use chrono::{NaiveDate, TimeDelta};

/// Cash and checks older than so many days are not offered any more.
pub const BACK: i64 = 120;
/// The most checks on one slip.
pub const MOST: usize = 60;

/// What goes to the bank.
#[derive(Debug, Clone)]
pub struct SlipIn {
    /// The day it goes.
    pub day: NaiveDate,
    /// Notes and coins, counted.
    pub cash: Money,
    /// Which money of the book it is.
    pub items: Vec<Item>,
    /// Whether cash that differs from what is ticked is right.
    pub differs: bool,
}

/// Cash and checks that may go on a slip of a day.
///
/// # Errors
/// When the book cannot be read.
pub fn on_hand(c: &mut DbConn, day: NaiveDate) -> Result<Vec<CameIn>, Failure> {
    let from = day.checked_sub_signed(TimeDelta::days(BACK)).unwrap_or(day);
    Ok(slips::on_hand(c, from, day)?)
}

fn sum_of(money: &[&CameIn], method: PayMethod) -> Result<Money, Failure> {
    Ok(Money::sum(money.iter().filter(|m| m.method == method).map(|m| m.amount))?)
}

/// Makes a slip; what is on it counts as taken to the bank.
///
/// # Errors
/// [`Failure::Refused`] when nothing is on it, something is on a slip or at the bank already, or the cash differs without the tick.
pub fn make_slip(tx: &mut Tx, doing: &Doing, input: &SlipIn) -> Result<SlipId, Failure> {
    if input.day > doing.now.today {
        return Err(Failure::refuse("day", "That day is still to come. Write the day the money goes to the bank"));
    }
    if input.cash.cents() < 0 {
        return Err(Failure::refuse("cash", "Write what you counted, zero or more"));
    }
    let free = on_hand(tx.conn(), input.day)?;
    let mut chosen: Vec<&CameIn> = Vec::new();
    for item in &input.items {
        let Some(money) = free.iter().find(|m| m.item == *item) else {
            return Err(Failure::refuse(
                "",
                "Something on this page went to the bank in between. Look at what is left and make the slip again.",
            ));
        };
        if !chosen.iter().any(|m| m.item == *item) {
            chosen.push(money);
        }
    }
    if chosen.is_empty() {
        return Err(Failure::refuse("item", "Choose the checks and the cash that go to the bank"));
    }
    if chosen.len() > MOST {
        return Err(Failure::refuse(
            "item",
            format!("A slip has room for {MOST} lines. Make a second one for the rest"),
        ));
    }
    let (cash, checks) = (sum_of(&chosen, PayMethod::Cash)?, sum_of(&chosen, PayMethod::Check)?);
    if cash != input.cash && !input.differs {
        return Err(Failure::refuse(
            "cash",
            format!(
                "You counted {} and the cash that is ticked is {}. Count again, or tick that it is right",
                input.cash.dollars(),
                cash.dollars()
            ),
        ));
    }
    let total = input.cash.plus(checks)?;
    if !total.is_positive() {
        return Err(Failure::refuse("cash", "Nothing would go to the bank. Write the cash you counted"));
    }
    let document = document(tx.conn(), doing, input, &chosen, total, cash)?;
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let new = NewSlip {
        made_on: input.day,
        cash: input.cash,
        total,
        document: json,
        made_by: doing.actor.clone(),
        made_at: doing.now.at,
    };
    let items: Vec<Item> = chosen.iter().map(|m| m.item).collect();
    let id = slips::insert(tx, &new, &items)?;
    let line = format!("Deposit slip {id} over {} was made", total.dollars());
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(id)
}

fn document(
    c: &mut DbConn,
    doing: &Doing,
    input: &SlipIn,
    chosen: &[&CameIn],
    total: Money,
    cash: Money,
) -> Result<DepositSlip, Failure> {
    let farm = farm::get(c)?;
    let checks = chosen.iter().filter(|m| m.method == PayMethod::Check).map(|m| Check {
        from: if m.from.is_empty() { "Not known".into() } else { m.from.clone() },
        number: m.reference.clone(),
        amount: m.amount,
    });
    let mut notes = Vec::new();
    if cash != input.cash {
        notes.push(format!(
            "Cash received that is on this slip: {}. Counted: {}.",
            cash.dollars(),
            input.cash.dollars()
        ));
    }
    Ok(DepositSlip {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        date: dates::full(input.day),
        cash: input.cash,
        checks: checks.collect(),
        total,
        notes,
    })
}

/// The line of a bank that a slip is tied to.
///
/// # Errors
/// When the book cannot be read.
pub fn line_of(c: &mut DbConn, id: SlipId) -> Result<Option<BankLineId>, Failure> {
    let asked = BankTie {
        line_id: BankLineId(0),
        kind: TieKind::Slip,
        payment_id: None,
        unmatched_id: None,
        slip_id: Some(id),
        words: String::new(),
        tied_by: String::new(),
        tied_at: crate::book::at::At(0),
    };
    Ok(bank::tied_to(c, &asked)?)
}

/// Takes a slip apart: what is on it did not go to the bank so, and may go on another slip.
///
/// # Errors
/// [`Failure::Refused`] when a line of the bank is tied to it.
pub fn take_slip_apart(tx: &mut Tx, doing: &Doing, id: SlipId) -> Result<(), Failure> {
    let slip = slips::get(tx.conn(), id)?;
    if line_of(tx.conn(), id)?.is_some() {
        return Err(Failure::refuse("", "A line of the bank is tied to this slip. Take that back first, under Bank."));
    }
    slips::remove(tx, id)?;
    let line = format!("Deposit slip {id} over {} was taken apart", slip.total.dollars());
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}

/// The slip's paper: its name and PDF, made from what was frozen.
///
/// # Errors
/// [`Failure::NotFound`] when there is none.
pub fn slip_paper(c: &mut DbConn, id: SlipId) -> Result<(String, Vec<u8>), Failure> {
    let slip = slips::get(c, id)?;
    let paper = frozen(&slip.document)?;
    let pdf = paper.pdf().map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok((format!("deposit slip {}.pdf", slip.made_on), pdf))
}

/// What is frozen of a slip.
///
/// # Errors
/// [`Failure::Unexpected`] when it cannot be read.
pub fn frozen(document: &str) -> Result<DepositSlip, Failure> {
    serde_json::from_str(document).map_err(|e| Failure::Unexpected(format!("the stored slip cannot be read: {e}")))
}
