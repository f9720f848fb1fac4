//! Giving money back: credit and overpayments, or the deposit of an open order; with a numbered slip.

use super::letterhead::{addressed, letterhead};
use super::make_receipt::method_words;
use super::queue_message::{ToSay, common_values, queue_message};
use super::record_deposit::MoneyIn;
use super::{Doing, Failure};
use crate::book::ids::{CustomerId, PaymentId, RefundSlipId, ReservationId};
use crate::book::ledger::Posting;
use crate::book::payments::{self, For};
use crate::book::rows::ledger::NewRefundSlip;
use crate::book::rows::money::NewPayment;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, ledger, people, placements, refunds, reservations};
use crate::paper::parts::{Fact, Line as PaperLine, Sum};
use crate::paper::refund_slip::RefundSlip;
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::trade::vocabulary::{PaperKind, PaymentKind};
use chrono::Datelike;

/// Records that credit was given back to the customer, and makes the slip; with `tell` it is sent.
///
/// # Errors
/// [`Failure::Refused`] when there is less credit than that.
pub fn give_back(
    tx: &mut Tx,
    doing: &Doing,
    who: CustomerId,
    money: &MoneyIn,
    tell: bool,
) -> Result<RefundSlipId, Failure> {
    money.check(doing.now.today)?;
    let there = payments::credit(tx.conn(), who)?;
    if money.amount > there {
        return Err(Failure::refuse(
            "amount",
            format!("Only {} stands as credit. Give back at most that", there.dollars()),
        ));
    }
    let posting = doing.posting(Act::Refund, money.received_on, who);
    pay_out(tx, doing, &Out { who, order: None, of: "what you had paid too much".into() }, money, posting, tell)
}

/// Records that the deposit of an open order, or a part of it, was given back, and makes the slip; with `tell` it is sent.
/// The order stays; what is missing of its deposit is asked for again.
///
/// # Errors
/// [`Failure::Refused`] when the order is cancelled or invoiced, or less is held.
pub fn refund_deposit(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    money: &MoneyIn,
    tell: bool,
) -> Result<RefundSlipId, Failure> {
    money.check(doing.now.today)?;
    let (r, customer, _) = reservations::get(tx.conn(), id)?;
    if r.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled. Give the money back on the customer’s page."));
    }
    if let Some(invoice) = placements::invoiced(tx.conn(), &[id])?.first() {
        return Err(Failure::refuse(
            "",
            format!(
                "The deposit went to invoice {}. Void it first, or give back what was paid too much.",
                invoice.number
            ),
        ));
    }
    let held = Money::sum(payments::held(tx.conn(), For::Order(id))?.iter().map(|h| h.amount))?;
    if money.amount > held {
        return Err(Failure::refuse("amount", format!("Only {} is held. Give back at most that", held.dollars())));
    }
    let mut posting = doing.posting(Act::Refund, money.received_on, customer.id).order(id);
    payments::move_part(tx, &mut posting, For::Order(id), None, money.amount, doing.now.at)?;
    let out = Out { who: customer.id, order: Some(id), of: format!("the deposit on order {}", r.number) };
    pay_out(tx, doing, &out, money, posting, tell)
}

/// Whose money goes out, and what it was for.
struct Out {
    who: CustomerId,
    order: Option<ReservationId>,
    of: String,
}

fn pay_out(
    tx: &mut Tx,
    doing: &Doing,
    out: &Out,
    money: &MoneyIn,
    mut posting: Posting,
    tell: bool,
) -> Result<RefundSlipId, Failure> {
    let payment = payments::insert(
        tx,
        &mut posting,
        &NewPayment {
            customer_id: out.who,
            kind: PaymentKind::Refund,
            method: money.method,
            amount: money.amount,
            received_on: money.received_on,
            reference: money.reference.clone(),
            note: money.note.clone(),
            recorded_at: doing.now.at,
        },
    )?;
    ledger::post(tx, posting)?;
    let how = method_words(money.method, &money.reference);
    let day = dates::long(money.received_on, doing.now.today);
    let (slip, number) = make_slip(tx, doing, payment, out, money)?;
    let what = if out.order.is_some() { " of the deposit" } else { "" };
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("{}{what} given back", money.amount.dollars()),
            detail: format!("{day}, {how}. Refund slip {number}."),
            customer: Some(out.who),
            reservation: out.order,
            ..Line::default()
        },
    )?;
    if tell {
        let farm = farm::get(tx.conn())?;
        let person = people::get(tx.conn(), out.who)?;
        let values = common_values(&farm, &person.name)
            .with("amount", money.amount.dollars())
            .with("date", day)
            .with("method", how)
            .with("refund_of", out.of.clone());
        let attachment = Some((PaperKind::RefundSlip, slip.0));
        let say = ToSay { customer: out.who, reservation: out.order, purpose: Purpose::Refund, values, attachment };
        queue_message(tx, doing, &say)?;
    }
    Ok(slip)
}

fn make_slip(
    tx: &mut Tx,
    doing: &Doing,
    payment: PaymentId,
    out: &Out,
    money: &MoneyIn,
) -> Result<(RefundSlipId, String), Failure> {
    let farm = farm::get(tx.conn())?;
    let person = people::get(tx.conn(), out.who)?;
    let year = doing.now.today.year();
    let number = Series::Refund.number(year, counters::next(tx, &Series::Refund.counter(year))?);
    let of = if out.order.is_some() {
        out.of.replacen("the deposit", "Deposit", 1)
    } else {
        "Paid too much, or not needed".into()
    };
    let document = RefundSlip {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        number: number.clone(),
        date: dates::full(doing.now.today),
        to: addressed(&person),
        facts: vec![
            Fact { name: "Given back".into(), value: dates::full(money.received_on) },
            Fact { name: "By".into(), value: method_words(money.method, &money.reference) },
        ],
        lines: vec![PaperLine { name: of, note: String::new(), reckoned: String::new(), amount: money.amount }],
        total: Sum { name: "Given back".into(), amount: money.amount },
        notes: vec!["Received, signature: ______________________________     Day: ____________________".into()],
    };
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let row = NewRefundSlip { number: number.clone(), payment_id: payment, made_on: doing.now.today, document: json };
    Ok((refunds::insert_slip(tx, &row)?, number))
}
