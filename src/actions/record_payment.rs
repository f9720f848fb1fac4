//! Recording a payment: for one or several invoices, or as credit; putting credit to use.

use super::make_receipt::{Part, make_receipt, method_words};
use super::queue_message::{ToSay, queue_message};
use super::record_deposit::{MoneyIn, Source};
use super::{Doing, Failure, Problems};
use crate::book::ids::{CustomerId, InvoiceId, PaymentId, ReceiptId};
use crate::book::payments::{self, For};
use crate::book::rows::money::NewPayment;
use crate::book::rows::people::Customer;
use crate::book::schema::customer;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, invoices, ledger};
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::vocabulary::{PaperKind, PaymentKind};
use diesel::prelude::*;

/// What is put to one invoice.
pub type PutTo = (InvoiceId, Money);

/// Checks parts against the invoices and puts them there; the names of what was paid.
fn put(
    tx: &mut Tx,
    doing: &Doing,
    who: CustomerId,
    parts: &[PutTo],
    mut take: impl FnMut(&mut Tx, InvoiceId, Money) -> Result<(), Failure>,
) -> Result<Vec<Part>, Failure> {
    let mut problems = Problems::default();
    let mut named = Vec::new();
    for (id, amount) in parts.iter().filter(|(_, a)| !a.is_zero()) {
        let field = format!("to-{id}");
        let (invoice, owner, note) = invoices::get(tx.conn(), *id)?;
        if owner.id != who {
            return Err(Failure::NotFound);
        }
        let paid = invoices::paid(tx.conn(), &[*id])?.get(id).copied().unwrap_or_default();
        let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
        if note.is_some() {
            problems.add(field, format!("Invoice {} is voided; nothing is owed on it", invoice.number));
        } else if amount.cents() < 0 {
            problems.add(field, "Write an amount of zero or more");
        } else if *amount > owed {
            problems.add(
                field,
                format!(
                    "Only {} is owed on invoice {}. What is more stays as credit: leave it out here",
                    owed.dollars(),
                    invoice.number
                ),
            );
        } else {
            take(tx, *id, *amount)?;
            named.push(Part { name: format!("Invoice {}", invoice.number), amount: *amount });
            let rest = owed.minus(*amount)?;
            stories::tell(
                tx,
                doing.now.at,
                &doing.actor,
                Line {
                    line: format!("{} paid on invoice {}", amount.dollars(), invoice.number),
                    detail: if rest.is_positive() {
                        format!("{} is still to be paid.", rest.dollars())
                    } else {
                        "Paid in full.".into()
                    },
                    customer: Some(who),
                    reservation: Some(invoice.reservation_id),
                    invoice: Some(*id),
                    ..Line::default()
                },
            )?;
        }
    }
    problems.check()?;
    Ok(named)
}

/// Records money from a customer and puts it to invoices; what is left over stays as the customer's credit.
/// With `receipt` a numbered receipt is made; with `tell` it is sent.
///
/// # Errors
/// [`Failure::Refused`] when the parts are more than came in or more than is owed.
pub fn record_payment(
    tx: &mut Tx,
    doing: &Doing,
    who: CustomerId,
    money: &MoneyIn,
    parts: &[PutTo],
    receipt: bool,
    tell: bool,
) -> Result<(PaymentId, Option<ReceiptId>), Failure> {
    payment_from(tx, doing, Source::Outside, &Payer { who, money, parts }, receipt, tell)
}

/// Who pays what, and what it is put to.
pub(super) struct Payer<'p> {
    pub(super) who: CustomerId,
    pub(super) money: &'p MoneyIn,
    pub(super) parts: &'p [PutTo],
}

/// The same, wherever the money was before.
pub(super) fn payment_from(
    tx: &mut Tx,
    doing: &Doing,
    source: Source,
    payer: &Payer,
    receipt: bool,
    tell: bool,
) -> Result<(PaymentId, Option<ReceiptId>), Failure> {
    let Payer { who, money, parts } = *payer;
    money.check(doing.now.today)?;
    let person: Customer = customer::table.find(who).select(Customer::as_select()).first(tx.conn())?;
    let together = Money::sum(parts.iter().map(|(_, a)| *a))?;
    let rest = money.amount.minus(together)?;
    if rest.cents() < 0 {
        return Err(Failure::refuse(
            "amount",
            format!(
                "{} came in, but {} is put to invoices. Put less to them",
                money.amount.dollars(),
                together.dollars()
            ),
        ));
    }
    let (act, day) = source.act(doing, Act::Payment, money.received_on);
    let mut posting = doing.posting(act, day, who);
    let id = source.insert(
        tx,
        &mut posting,
        &NewPayment {
            customer_id: who,
            kind: PaymentKind::Received,
            method: money.method,
            amount: money.amount,
            received_on: money.received_on,
            reference: money.reference.clone(),
            note: money.note.clone(),
            recorded_at: doing.now.at,
        },
    )?;
    let mut named = put(tx, doing, who, parts, |tx, invoice, amount| {
        Ok(payments::allocate(tx, &mut posting, id, For::Invoice(invoice), amount, doing.now.at)?)
    })?;
    if let [(only, _)] = parts {
        posting = posting.invoice(*only);
    }
    ledger::post(tx, posting)?;
    if rest.is_positive() {
        named.push(Part { name: "Credit, for later".into(), amount: rest });
        let line = format!("{} stands as credit", rest.dollars());
        let detail = format!(
            "Of {} received {}, {}.",
            money.amount.dollars(),
            dates::long(money.received_on, doing.now.today),
            method_words(money.method, &money.reference)
        );
        stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, customer: Some(who), ..Line::default() })?;
    }
    if !receipt && !tell {
        return Ok((id, None));
    }
    let owed = Money::sum(invoices::open(tx.conn(), Some(who), 200)?.iter().map(|(_, _, m)| *m))?;
    let note = if owed.is_positive() {
        format!("Still to be paid in all: {}.", owed.dollars())
    } else {
        "Nothing more is due.".to_string()
    };
    let (receipt, number) = make_receipt(tx, doing, id, &named, vec![note])?;
    if tell {
        let farm = farm::get(tx.conn())?;
        let applied: Vec<String> =
            named.iter().map(|p| p.name.to_lowercase().replace("invoice i-", "invoice I-")).collect();
        let values = super::queue_message::common_values(&farm, &person.name)
            .with("amount", money.amount.dollars())
            .with("date", dates::long(money.received_on, doing.now.today))
            .with("receipt", number)
            .with("applied_to", applied.join(", "))
            .with("balance", owed.dollars());
        queue_message(
            tx,
            doing,
            &ToSay {
                customer: who,
                reservation: None,
                purpose: Purpose::PaymentReceipt,
                values,
                attachment: Some((PaperKind::Receipt, receipt.0)),
            },
        )?;
    }
    Ok((id, Some(receipt)))
}

/// Puts a customer's credit to an invoice, the oldest money first.
///
/// # Errors
/// [`Failure::Refused`] when there is less credit than asked, or less is owed.
pub fn use_credit(
    tx: &mut Tx,
    doing: &Doing,
    who: CustomerId,
    invoice: InvoiceId,
    amount: Money,
) -> Result<(), Failure> {
    let free = payments::free_parts(tx.conn(), who)?;
    let there = Money::sum(free.iter().map(|(_, m)| *m))?;
    if !amount.is_positive() || amount > there {
        return Err(Failure::refuse("amount", format!("There is {} of credit. Use at most that", there.dollars())));
    }
    let mut posting = doing.posting(Act::UseCredit, doing.now.today, who).invoice(invoice);
    put(tx, doing, who, &[(invoice, amount)], |tx, id, amount| {
        payments::put_credit(tx, &mut posting, who, For::Invoice(id), amount, doing.now.at)?;
        Ok(())
    })?;
    ledger::post(tx, posting)?;
    Ok(())
}
