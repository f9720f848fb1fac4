//! A credit note for a part of an invoice: the invoice stays, less is owed on it, and what was paid too much becomes credit.

use super::letterhead::{addressed, letterhead};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, message_values};
use crate::book::ids::{ChangeId, InvoiceId};
use crate::book::payments::{self, For};
use crate::book::rows::ledger::NewInvoiceChange;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, invoices, ledger, reservations};
use crate::paper::credit_note::CreditNote;
use crate::paper::parts::{Fact, Line as PaperLine, Sum};
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::ledger::{Act, ChangeKind};
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::trade::vocabulary::PaperKind;
use chrono::Datelike;

/// What is taken back, and why.
#[derive(Debug, Clone)]
pub struct PartCredit {
    /// Without tax; more than nothing.
    pub amount: Money,
    /// Tax that was billed on it; nothing or more.
    pub tax: Money,
    /// Why; it stands on the credit note.
    pub reason: String,
}

/// Takes a part of an invoice back by a numbered credit note; with `tell` it is sent.
///
/// # Errors
/// [`Failure::Refused`] when the invoice is voided, less than that is left of it, or no reason is given.
pub fn credit_part(
    tx: &mut Tx,
    doing: &Doing,
    id: InvoiceId,
    input: &PartCredit,
    tell: bool,
) -> Result<ChangeId, Failure> {
    let (invoice, person, note) = invoices::get(tx.conn(), id)?;
    if note.is_some() {
        return Err(Failure::refuse("", format!("Invoice {} is voided; nothing is left of it.", invoice.number)));
    }
    let reason = input.reason.trim();
    if reason.is_empty() {
        return Err(Failure::refuse("reason", "Write why; it stands on the credit note"));
    }
    // What is left of the billed amount and of its tax after earlier credit notes and write-offs.
    let changes = invoices::changes(tx.conn(), id)?;
    let taken = Money::sum(changes.iter().filter(|k| k.kind != ChangeKind::Charge).map(|k| k.amount))?;
    let tax_taken = Money::sum(changes.iter().map(|k| k.tax))?;
    let left = invoice.farm_total.plus(invoice.farm_tax)?.plus(taken)?;
    // Where only a discount was taxed, the tax is below zero, and none can be taken back.
    let tax_left = invoice.farm_tax.plus(tax_taken)?.max(Money::ZERO);
    let whole = input.amount.plus(input.tax)?;
    if !input.amount.is_positive() || whole > left {
        let left = left.max(Money::ZERO);
        return Err(Failure::refuse(
            "amount",
            format!("{} is left of the invoice. Take back at most that", left.dollars()),
        ));
    }
    if input.tax.cents() < 0 || input.tax > tax_left {
        return Err(Failure::refuse(
            "tax",
            format!("{} of tax is left of the invoice. Take back at most that", tax_left.dollars()),
        ));
    }
    let (order, ..) = reservations::get(tx.conn(), invoice.reservation_id)?;
    let mut posting =
        doing.posting(Act::PartCredit, doing.now.today, person.id).order(order.id).invoice(id).note(reason);
    let year = doing.now.today.year();
    let number = Series::CreditNote.number(year, counters::next(tx, &Series::CreditNote.counter(year))?);
    let paid = invoices::paid(tx.conn(), &[id])?.get(&id).copied().unwrap_or_default();
    let after = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?.minus(whole)?;
    let over = after.negated().max(Money::ZERO);
    let mut notes = vec![format!("Invoice {} stays as it is; this much less is to be paid on it.", invoice.number)];
    if over.is_positive() {
        notes.push(format!("You have paid {} too much. It stands to your credit, or is given back.", over.dollars()));
    } else {
        notes.push(format!("Still to be paid on it: {}.", after.dollars()));
    }
    let line = |name: String, amount| PaperLine { name, note: String::new(), reckoned: String::new(), amount };
    let farm = farm::get(tx.conn())?;
    let document = CreditNote {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        number: number.clone(),
        date: dates::full(doing.now.today),
        to: addressed(&person),
        facts: vec![
            Fact { name: "Invoice".into(), value: invoice.number.clone() },
            Fact { name: "Order".into(), value: order.number.clone() },
        ],
        reason: vec![reason.to_string()],
        lines: vec![line(format!("Part of invoice {}", invoice.number), input.amount)],
        subtotal: None,
        taxes: if input.tax.is_zero() { Vec::new() } else { vec![line("Tax on it".into(), input.tax)] },
        total: Sum { name: "Credited".into(), amount: whole },
        notes,
    };
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let change = NewInvoiceChange {
        invoice_id: id,
        kind: ChangeKind::Credit,
        amount: whole.negated(),
        tax: input.tax.negated(),
        made_on: doing.now.today,
        reason: reason.to_string(),
        number: Some(number.clone()),
        document: Some(json),
        made_at: doing.now.at,
    };
    let credit = invoices::change(tx, &mut posting, &change)?;
    // What was paid and is not owed any more is the customer's.
    payments::move_part(tx, &mut posting, For::Invoice(id), None, over, doing.now.at)?;
    ledger::post(tx, posting)?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("{} of invoice {} taken back by credit note {number}", whole.dollars(), invoice.number),
            detail: format!("{}.", reason.trim_end_matches('.')),
            customer: Some(person.id),
            reservation: Some(order.id),
            invoice: Some(id),
            ..Line::default()
        },
    )?;
    if tell {
        let values = message_values::order_values(tx.conn(), order.id)?
            .with("credit_note", number)
            .with("invoice", invoice.number.clone())
            .with("amount", whole.dollars())
            .with("reason", reason);
        let attachment = Some((PaperKind::PartCredit, credit.0));
        let purpose = Purpose::CreditNote;
        queue_message(
            tx,
            doing,
            &ToSay { customer: person.id, reservation: Some(order.id), purpose, values, attachment },
        )?;
    }
    Ok(credit)
}
