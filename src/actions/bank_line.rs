//! What a line of a bank is: booked as a payment by a button, tied to what was recorded by hand, not yet matched, or set aside.
//!
//! Nothing books by itself, and a line is one thing at most: the key of `bank_tie` is the line.

use super::record_deposit::{MoneyIn, Source, deposit_from};
use super::record_payment::{Payer, payment_from};
use super::unmatched_money::{ForWhat, MatchTo, match_to, record_unmatched};
use super::{Doing, Failure};
use crate::book::bank;
use crate::book::ids::{BankLineId, PaymentId, SlipId, UnmatchedId};
use crate::book::rows::bank::{BankLine, BankTie};
use crate::book::slips::{self, Item};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{payments, refunds, unmatched};
use crate::trade::bank::TieKind;
use crate::trade::bank::suggest::What;
use crate::trade::dates;
use crate::trade::ledger::PairKind;
use crate::trade::money::Money;
use crate::trade::vocabulary::{PayMethod, PaymentKind};

fn open_line(tx: &mut Tx, id: BankLineId) -> Result<BankLine, Failure> {
    let line = bank::line(tx.conn(), id)?;
    match bank::tie_of(tx.conn(), id)? {
        None => Ok(line),
        Some(tie) => Err(Failure::refuse(
            "",
            format!("This line is settled already: {}. Take that back first.", tie.kind.label().to_lowercase()),
        )),
    }
}

/// How a line that was added to the account probably came, by its words.
pub fn method_of(line: &BankLine) -> PayMethod {
    let words = line.words.to_lowercase();
    let says = |all: &[&str]| all.iter().any(|w| words.contains(w));
    if says(&["check", "mobile dep", "remote dep"]) {
        PayMethod::Check
    } else if says(&["cash"]) {
        PayMethod::Cash
    } else if says(&["merchant", "card"]) {
        PayMethod::Card
    } else {
        PayMethod::Transfer
    }
}

fn money(line: &BankLine, method: PayMethod) -> Result<MoneyIn, Failure> {
    if !line.amount.is_positive() {
        return Err(Failure::refuse("", "This line was taken off the account. Only what came in can be booked."));
    }
    // The bank's words stay with its line; on a receipt stands the check's number.
    let reference: String = line.reference.chars().take(60).collect();
    Ok(MoneyIn { method, amount: line.amount, received_on: line.day, reference, note: String::new() })
}

fn tie(tx: &mut Tx, doing: &Doing, line: BankLineId, kind: TieKind, to: Tied) -> Result<(), Failure> {
    let row = BankTie {
        line_id: line,
        kind,
        payment_id: to.payment,
        unmatched_id: to.unmatched,
        slip_id: to.slip,
        words: to.words,
        tied_by: doing.actor.clone(),
        tied_at: doing.now.at,
    };
    if bank::tied_to(tx.conn(), &row)?.is_some() {
        return Err(Failure::refuse("", "Another line of the bank is tied to that already. Choose something else."));
    }
    bank::tie(tx, &row)?;
    Ok(())
}

#[derive(Default)]
struct Tied {
    payment: Option<PaymentId>,
    unmatched: Option<UnmatchedId>,
    slip: Option<SlipId>,
    words: String,
}

/// Books a line as a payment: the deposit of an order, or of a customer, with its receipt; `tell` sends it.
///
/// # Errors
/// [`Failure::Refused`] when the line is settled, was taken off the account, or as for a deposit or payment.
pub fn book_line(
    tx: &mut Tx,
    doing: &Doing,
    id: BankLineId,
    what: ForWhat,
    method: PayMethod,
    tell: bool,
) -> Result<PaymentId, Failure> {
    let line = open_line(tx, id)?;
    let money = money(&line, method)?;
    let payment = match &match_to(tx, what, line.amount)? {
        MatchTo::Order(order) => deposit_from(tx, doing, Source::Outside, *order, &money, tell)?.0,
        MatchTo::Customer(who, parts) => {
            payment_from(tx, doing, Source::Outside, &Payer { who: *who, money: &money, parts }, true, tell)?.0
        }
    };
    tie(tx, doing, id, TieKind::Payment, Tied { payment: Some(payment), ..Tied::default() })?;
    Ok(payment)
}

/// Ties a line to something that is in the book already; nothing is booked.
///
/// # Errors
/// [`Failure::Refused`] when the amounts differ, it is tied elsewhere or on a slip, or it is nothing that was at a bank.
pub fn tie_line(tx: &mut Tx, doing: &Doing, id: BankLineId, what: What, of: i64) -> Result<(), Failure> {
    let line = open_line(tx, id)?;
    let (kind, amount, to) = match what {
        What::Payment | What::Refund => of_payment(tx, what, PaymentId(of))?,
        What::Unmatched => {
            let row = unmatched::get(tx.conn(), UnmatchedId(of))?;
            not_on_slip(tx, Item::Unmatched(row.id))?;
            (TieKind::Unmatched, row.amount, Tied { unmatched: Some(row.id), ..Tied::default() })
        }
        What::GivenBack => {
            let row = unmatched::get(tx.conn(), UnmatchedId(of))?;
            if row.back_on.is_none() {
                return Err(Failure::refuse("", "This money was not given back. Record that first."));
            }
            (TieKind::GivenBack, row.amount.negated(), Tied { unmatched: Some(row.id), ..Tied::default() })
        }
        What::Slip => {
            let slip = slips::get(tx.conn(), SlipId(of))?;
            (TieKind::Slip, slip.total, Tied { slip: Some(slip.id), ..Tied::default() })
        }
        What::Invoice | What::Deposit => {
            return Err(Failure::refuse("", "That is not recorded yet. Book the line instead."));
        }
    };
    if amount != line.amount {
        return Err(Failure::refuse(
            "",
            format!(
                "The line is {} and that is {}. Only equal amounts can be tied.",
                line.amount.dollars(),
                amount.dollars()
            ),
        ));
    }
    tie(tx, doing, id, kind, to)?;
    tell(tx, doing, &line, &format!("tied to what is recorded: {}", kind.label().to_lowercase()))
}

fn not_on_slip(tx: &mut Tx, item: Item) -> Result<(), Failure> {
    match slips::slip_of(tx.conn(), item)? {
        None => Ok(()),
        Some(slip) => {
            Err(Failure::refuse("", format!("That is on deposit slip {slip}. Tie the line to the slip instead.")))
        }
    }
}

fn of_payment(tx: &mut Tx, what: What, id: PaymentId) -> Result<(TieKind, Money, Tied), Failure> {
    let payment = payments::get(tx.conn(), id)?;
    let was_moved = refunds::pair_of(tx.conn(), id)?.is_some_and(|p| p.kind == PairKind::Moved);
    let came_in = payment.kind == PaymentKind::Received;
    if was_moved || came_in != (what == What::Payment) {
        return Err(Failure::refuse("", "That money was never at the bank so. Choose something else."));
    }
    if unmatched::that_became(tx.conn(), id)?.is_some() {
        return Err(Failure::refuse("", "This payment came in as not yet matched. Tie the line to that."));
    }
    not_on_slip(tx, Item::Payment(id))?;
    let to = Tied { payment: Some(id), ..Tied::default() };
    Ok(if came_in { (TieKind::Payment, payment.amount, to) } else { (TieKind::Refund, payment.amount.negated(), to) })
}

/// Books a line as money that is not yet matched.
///
/// # Errors
/// [`Failure::Refused`] when the line is settled or was taken off the account.
pub fn line_not_matched(tx: &mut Tx, doing: &Doing, id: BankLineId, method: PayMethod) -> Result<UnmatchedId, Failure> {
    let line = open_line(tx, id)?;
    let money = money(&line, method)?;
    let unmatched = record_unmatched(tx, doing, &money, &line.words)?;
    tie(tx, doing, id, TieKind::Unmatched, Tied { unmatched: Some(unmatched), ..Tied::default() })?;
    Ok(unmatched)
}

/// Sets a line aside: it is none of this book's.
///
/// # Errors
/// [`Failure::Refused`] when the line is settled.
pub fn set_line_aside(tx: &mut Tx, doing: &Doing, id: BankLineId, words: &str) -> Result<(), Failure> {
    let line = open_line(tx, id)?;
    tie(tx, doing, id, TieKind::Aside, Tied { words: words.to_string(), ..Tied::default() })?;
    tell(tx, doing, &line, "set aside")
}

/// Takes back what was said of a line. What was booked stays booked: a payment is taken back on its own page.
///
/// # Errors
/// [`Failure::Refused`] when nothing was said of it.
pub fn untie_line(tx: &mut Tx, doing: &Doing, id: BankLineId) -> Result<TieKind, Failure> {
    let line = bank::line(tx.conn(), id)?;
    let Some(tie) = bank::tie_of(tx.conn(), id)? else {
        return Err(Failure::refuse("", "Nothing is settled about this line."));
    };
    bank::untie(tx, id)?;
    tell(tx, doing, &line, "open again")?;
    Ok(tie.kind)
}

fn tell(tx: &mut Tx, doing: &Doing, line: &BankLine, what: &str) -> Result<(), Failure> {
    let day = dates::long(line.day, doing.now.today);
    let told = Line {
        line: format!("The bank’s line of {} on {day} is {what}", line.amount.dollars()),
        detail: line.words.clone(),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok(())
}
