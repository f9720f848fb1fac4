//! Voiding an issued invoice by a credit note; what was paid goes back to the order, which can be invoiced again.

use super::letterhead::{addressed, letterhead};
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, message_values};
use crate::book::ids::{CreditNoteId, InvoiceId};
use crate::book::payments::{self, For};
use crate::book::rows::invoices::NewCreditNote;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, invoices, ledger, reservations};
use crate::paper::credit_note::CreditNote;
use crate::paper::parts::{Fact, Line as PaperLine, Sum};
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::trade::vocabulary::PaperKind;
use chrono::Datelike;

/// Voids an invoice in full. The invoice itself stays as it was issued.
///
/// # Errors
/// [`Failure::Refused`] when it is voided already or there is no reason.
pub fn void_invoice(
    tx: &mut Tx,
    doing: &Doing,
    id: InvoiceId,
    reason: &str,
    tell: bool,
) -> Result<CreditNoteId, Failure> {
    let (invoice, person, note) = invoices::get(tx.conn(), id)?;
    if let Some(note) = note {
        return Err(Failure::refuse(
            "",
            format!("Invoice {} is voided already, by credit note {}.", invoice.number, note.number),
        ));
    }
    if reason.trim().is_empty() {
        return Err(Failure::refuse("reason", "Write why; it stands on the credit note"));
    }
    let farm = farm::get(tx.conn())?;
    let (order, ..) = reservations::get(tx.conn(), invoice.reservation_id)?;
    let year = doing.now.today.year();
    let number = Series::CreditNote.number(year, counters::next(tx, &Series::CreditNote.counter(year))?);
    // What was credited, written off or added since is not taken back a second time.
    let changes = invoices::changes(tx.conn(), id)?;
    let changed = Money::sum(changes.iter().map(|k| k.amount))?;
    let amount = invoice.farm_total.plus(invoice.farm_tax)?.plus(changed)?;
    let line = |name: String, amount| PaperLine { name, note: String::new(), reckoned: String::new(), amount };
    let mut lines = vec![line(
        format!("Invoice {} of {}, farm total", invoice.number, dates::full(invoice.issued_on)),
        invoice.farm_total,
    )];
    for k in &changes {
        let number = k.number.as_ref().map_or(String::new(), |n| format!(" {n}"));
        lines.push(line(format!("{}{number} of {}", k.kind.label(), dates::full(k.made_on)), k.amount));
    }
    let taxes = if invoice.farm_tax.is_zero() { Vec::new() } else { vec![line("Tax on it".into(), invoice.farm_tax)] };
    let mut posting =
        doing.posting(Act::Void, doing.now.today, person.id).order(order.id).invoice(id).note(reason.trim());
    posting.billed(tx.conn(), id, true)?;
    invoices::take_changes_back(tx.conn(), &mut posting, id)?;
    let moved = payments::move_all(tx, &mut posting, For::Invoice(id), Some(For::Order(order.id)), doing.now.at)?;
    ledger::post(tx, posting)?;
    let moved = Money::sum(moved)?;
    let mut notes =
        vec![format!("This credit note voids invoice {} in full; nothing of it is to be paid.", invoice.number)];
    if moved.is_positive() {
        notes.push(format!(
            "The {} you have paid is held for order {} and will be taken off a new invoice.",
            moved.dollars(),
            order.number
        ));
    }
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
        reason: vec![reason.trim().to_string()],
        lines,
        subtotal: None,
        taxes,
        total: Sum { name: "Credited".into(), amount },
        notes,
    };
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let credit = invoices::insert_credit_note(
        tx,
        &NewCreditNote {
            number: number.clone(),
            invoice_id: id,
            issued_on: doing.now.today,
            amount,
            reason: reason.trim().to_string(),
            document: json,
            issued_at: doing.now.at,
        },
    )?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("Invoice {} voided by credit note {number}", invoice.number),
            detail: reason.trim().to_string(),
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
            .with("amount", amount.dollars())
            .with("reason", reason.trim());
        queue_message(
            tx,
            doing,
            &ToSay {
                customer: person.id,
                reservation: Some(order.id),
                purpose: Purpose::CreditNote,
                values,
                attachment: Some((PaperKind::CreditNote, credit.0)),
            },
        )?;
    }
    Ok(credit)
}
