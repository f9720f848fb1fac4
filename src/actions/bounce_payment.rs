//! A payment that came back from the bank, such as a bounced check: it is undone, and a charge may be added.

use super::make_receipt::method_words;
use super::{Doing, Failure};
use crate::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::rows::ledger::NewInvoiceChange;
use crate::book::rows::money::NewPayment;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{invoices, ledger, placements, refunds, reservations};
use crate::trade::ledger::{Act, ChangeKind};
use crate::trade::money::{Money, Percent};
use crate::trade::vocabulary::{PayMethod, PaymentKind};
use chrono::NaiveDate;

/// What the line of a charge says.
const CHARGE: &str = "Charge for a returned payment";

/// What came back, when, and what it costs the customer.
#[derive(Debug, Clone)]
pub struct Bounced {
    /// The day the bank took it back.
    pub day: NaiveDate,
    /// Why, in words of the bank; may be empty.
    pub reason: String,
    /// A charge, added to the invoice or the order the payment was for.
    pub charge: Option<Money>,
}

/// Undoes a payment: what it was put to lacks it again.
///
/// # Errors
/// [`Failure::Refused`] when it was cash or no money from outside, was undone already, was given back or went on to somebody
/// else meanwhile, or there is nothing the charge could stand on.
pub fn bounce_payment(tx: &mut Tx, doing: &Doing, id: PaymentId, input: &Bounced) -> Result<(), Failure> {
    let payment = payments::get(tx.conn(), id)?;
    let pair = refunds::pair_of(tx.conn(), id)?;
    if payment.kind != PaymentKind::Received || payment.method == PayMethod::Cash || pair.is_some() {
        return Err(Failure::refuse(
            "",
            "Only a check, card or bank payment that came in can be returned by the bank, and only once.",
        ));
    }
    if input.day > doing.now.today || input.day < payment.received_on {
        return Err(Failure::refuse(
            "day",
            "Write the day the bank took it back: not before it came in, not after today",
        ));
    }
    let who = payment.customer_id;
    let parts = payments::parts_of(tx.conn(), id)?;
    let put = Money::sum(parts.iter().map(|(_, m)| *m))?;
    let after = payments::credit(tx.conn(), who)?.plus(put)?.minus(payment.amount)?;
    if after.cents() < 0 {
        let lacking = after.negated().dollars();
        return Err(Failure::refuse(
            "",
            format!(
                "{lacking} of this money was given back or went on to somebody else. Record that {lacking} as received first."
            ),
        ));
    }
    let how = method_words(payment.method, &payment.reference);
    let why = if input.reason.trim().is_empty() { how.clone() } else { format!("{how}, {}", input.reason.trim()) };
    let mut posting = doing.posting(Act::Bounce, input.day, who).note(why.clone());
    for (what, amount) in &parts {
        payments::allocate(tx, &mut posting, id, *what, amount.negated(), doing.now.at)?;
    }
    let undoing = NewPayment {
        customer_id: who,
        kind: PaymentKind::Refund,
        method: payment.method,
        amount: payment.amount,
        received_on: input.day,
        reference: payment.reference.clone(),
        note: format!("Returned by the bank. {}", input.reason.trim()).trim().to_string(),
        recorded_at: doing.now.at,
    };
    payments::insert_undoing(tx, &mut posting, id, &undoing)?;
    tell(tx, doing, who, payment.amount, &why, &parts)?;
    if let Some(charge) = input.charge.filter(|c| c.is_positive()) {
        let on = add_charge(tx, doing, &mut posting, &parts, charge, input.day)?;
        let line = format!("{CHARGE}, {}, on {on}", charge.dollars());
        let line = Line { line, customer: Some(who), ..Line::default() };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    ledger::post(tx, posting)?;
    Ok(())
}

/// A line in the story of everything the payment was for, or of the customer alone.
fn tell(
    tx: &mut Tx,
    doing: &Doing,
    who: CustomerId,
    amount: Money,
    why: &str,
    parts: &[(For, Money)],
) -> Result<(), Failure> {
    let mut about: Vec<(Option<ReservationId>, Option<InvoiceId>)> = Vec::new();
    for (what, _) in parts {
        about.push(match what {
            For::Order(id) => (Some(*id), None),
            For::Invoice(id) => (Some(invoices::get(tx.conn(), *id)?.0.reservation_id), Some(*id)),
        });
    }
    if about.is_empty() {
        about.push((None, None));
    }
    for (reservation, invoice) in about {
        let line = Line {
            line: format!("Payment of {} was returned by the bank", amount.dollars()),
            detail: format!("{why}. What it was put to is open again."),
            customer: Some(who),
            reservation,
            invoice,
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}

/// Adds the charge to the first invoice the payment was on, else to the first open order; what it was added to, in words.
fn add_charge(
    tx: &mut Tx,
    doing: &Doing,
    posting: &mut ledger::Posting,
    parts: &[(For, Money)],
    charge: Money,
    day: NaiveDate,
) -> Result<String, Failure> {
    for (what, _) in parts {
        if let For::Invoice(id) = what {
            let change = NewInvoiceChange {
                invoice_id: *id,
                kind: ChangeKind::Charge,
                amount: charge,
                tax: Money::ZERO,
                made_on: day,
                reason: CHARGE.into(),
                number: None,
                document: None,
                made_at: doing.now.at,
            };
            invoices::change(tx, posting, &change)?;
            return Ok(format!("invoice {}", invoices::get(tx.conn(), *id)?.0.number));
        }
    }
    for (what, _) in parts {
        if let For::Order(id) = what {
            let (r, ..) = reservations::get(tx.conn(), *id)?;
            if r.cancelled_at.is_none() && placements::invoiced(tx.conn(), &[*id])?.is_empty() {
                reservations::add_line(tx, *id, CHARGE, charge, Percent::ZERO, doing.now.at)?;
                return Ok(format!("order {}", r.number));
            }
        }
    }
    Err(Failure::refuse(
        "charge",
        "This payment was for no invoice and no open order, so there is nothing to add a charge to. Leave the charge out",
    ))
}
