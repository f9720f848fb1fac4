//! Issuing invoices: numbers, lines and paper are written once and never changed again.

use super::draft_invoice::{DraftInvoice, drafts};
use super::draft_words;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure, Problems, message_values};
use crate::book::ids::{InvoiceId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::rows::invoices::{InvoiceLine, NewInvoice};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{counters, farm, invoices, ledger};
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::ledger::Act;
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::trade::vocabulary::PaperKind;
use chrono::Datelike;

/// Issues the invoices of these orders, all or none; each with the balance that the preview showed. With `tell` each is sent.
///
/// # Errors
/// [`Failure::Refused`] when one cannot be issued, or its balance is not the one shown any more.
pub fn issue_invoices(
    tx: &mut Tx,
    doing: &Doing,
    orders: &[(ReservationId, Money)],
    tell: bool,
) -> Result<Vec<InvoiceId>, Failure> {
    if orders.is_empty() {
        return Err(Failure::refuse("", "Tick at least one invoice to issue."));
    }
    let farm = farm::get(tx.conn())?;
    let ids: Vec<ReservationId> = orders.iter().map(|(id, _)| *id).collect();
    // All are drafted before the first is written, so an order named twice would be invoiced twice.
    if ids.iter().collect::<std::collections::BTreeSet<_>>().len() != ids.len() {
        return Err(Failure::refuse("", "One order is in the list twice. Open the page again and issue each once."));
    }
    let drafts = drafts(tx.conn(), &farm, doing.now, &ids)?;
    let mut problems = Problems::default();
    for (d, (id, shown)) in drafts.iter().zip(orders) {
        match d.ready() {
            None => problems
                .add(format!("issue-{id}"), format!("{}: {}", d.customer.name, d.not_yet.clone().unwrap_or_default())),
            Some(balance) if balance != *shown => problems.add(
                format!("issue-{id}"),
                format!(
                    "{}: the balance was {} when you looked and is {} now. Look it over again",
                    d.customer.name,
                    shown.dollars(),
                    balance.dollars()
                ),
            ),
            Some(_) => {}
        }
    }
    problems.check()?;
    let mut issued = Vec::with_capacity(drafts.len());
    for d in &drafts {
        issued.push(issue_one(tx, doing, d, tell)?);
    }
    Ok(issued)
}

fn issue_one(tx: &mut Tx, doing: &Doing, d: &DraftInvoice, tell: bool) -> Result<InvoiceId, Failure> {
    let sums = d.sums.as_ref().ok_or(Failure::NotFound)?;
    let year = doing.now.today.year();
    let number = Series::Invoice.number(year, counters::next(tx, &Series::Invoice.counter(year))?);
    let paper = draft_words::paper(d, &number, doing.now.at.0.div_euclid(1000)).ok_or(Failure::NotFound)?;
    let document = serde_json::to_string(&paper).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let lines: Vec<InvoiceLine> = sums
        .lines
        .iter()
        .enumerate()
        .map(|(i, l)| InvoiceLine {
            invoice_id: InvoiceId(0),
            position: i64::try_from(i).unwrap_or(i64::MAX),
            kind: l.kind,
            name: l.name.clone(),
            amount: l.amount,
            tax: l.tax,
            billed_by: l.billed_by,
            charge_id: d.charges.get(i).copied().flatten(),
        })
        .collect();
    let id = invoices::insert(
        tx,
        &NewInvoice {
            number: number.clone(),
            reservation_id: d.order.id,
            customer_id: d.customer.id,
            issued_on: doing.now.today,
            due_on: d.due_on,
            farm_total: sums.farm_total,
            farm_tax: sums.farm_tax,
            processor_total: sums.processor_total,
            processor_tax: sums.processor_tax,
            balance_due: sums.balance_due,
            billed_weight: d.billed.as_ref().map(|b| b.weight),
            document,
            issued_at: doing.now.at,
        },
        &lines,
    )?;
    let mut posting = doing.posting(Act::Invoice, doing.now.today, d.customer.id).order(d.order.id).invoice(id);
    posting.billed(tx.conn(), id, false)?;
    // What was held for the order now pays its invoice; what is too much becomes credit.
    let mut room = sums.farm_total.plus(sums.farm_tax)?;
    for h in payments::held(tx.conn(), For::Order(d.order.id))? {
        payments::allocate(tx, &mut posting, h.payment.id, For::Order(d.order.id), h.amount.negated(), doing.now.at)?;
        let part = h.amount.min(room);
        payments::allocate(tx, &mut posting, h.payment.id, For::Invoice(id), part, doing.now.at)?;
        room = room.minus(part)?;
    }
    ledger::post(tx, posting)?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("Invoice {number} issued, balance {}", sums.balance_due.dollars()),
            detail: d
                .due_on
                .map_or("Due before pickup.".into(), |day| format!("Due {}.", dates::long(day, doing.now.today))),
            customer: Some(d.customer.id),
            reservation: Some(d.order.id),
            animal: d.animal.as_ref().map(|a| a.id),
            date: d.date.as_ref().map(|(date, _)| date.id),
            invoice: Some(id),
        },
    )?;
    if tell {
        let values = message_values::order_values(tx.conn(), d.order.id)?;
        let values = message_values::with_invoice(values, &number, sums.balance_due, d.due_on, doing.now, &d.farm);
        queue_message(
            tx,
            doing,
            &ToSay {
                customer: d.customer.id,
                reservation: Some(d.order.id),
                purpose: Purpose::Invoice,
                values,
                attachment: Some((PaperKind::Invoice, id.0)),
            },
        )?;
    }
    Ok(id)
}
