//! Invoices and their lines, payments and what they were put to, and charges of processors.

use super::{Rows, day, figure, weight};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ids::{InvoiceId, PaymentId};
use crate::book::{exports, invoices as stored};
use crate::trade::csv::Cell;
use crate::trade::decimal::plain;
use crate::trade::import_file::Field;
use crate::trade::money::Money;
use std::collections::HashMap;

/// Rows of a page.
const PAGE: i64 = 500;

fn money(amount: Money) -> Cell {
    Cell::Figure(amount.plain())
}

fn names<const N: usize>(all: [&str; N]) -> Vec<String> {
    all.map(String::from).to_vec()
}

pub(super) fn invoice_headings(unit: &str) -> Vec<String> {
    let mut all = names(["Invoice", "Order", "Customer", "Mail address", "Issued on", "Due on"]);
    all.push(format!("Billed weight ({unit})"));
    all.extend(names([
        "Farm’s charges",
        "Tax on them",
        "Paid to the processor",
        "Tax on that",
        "Balance due when issued",
        "Paid so far",
        "Voided by",
    ]));
    all
}

pub(super) fn invoices(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::invoices(c, after, PAGE)?;
    let ids: Vec<InvoiceId> = found.iter().map(|(i, ..)| i.id).collect();
    let paid = stored::paid(c, &ids)?;
    let mut out = Rows::default();
    for (i, who, order, voided) in &found {
        out.push(&[
            i.number.as_str().into(),
            order.as_str().into(),
            who.name.as_str().into(),
            who.mail.as_str().into(),
            day(Some(i.issued_on)),
            day(i.due_on),
            weight(i.billed_weight),
            money(i.farm_total),
            money(i.farm_tax),
            money(i.processor_total),
            money(i.processor_tax),
            money(i.balance_due),
            money(paid.get(&i.id).copied().unwrap_or_default()),
            voided.clone().unwrap_or_default().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}

pub(super) fn line_headings() -> Vec<String> {
    names(["Invoice", "Line", "For", "Kind", "Amount", "Tax", "Billed by"])
}

pub(super) fn lines(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::invoices(c, after, PAGE)?;
    let ids: Vec<InvoiceId> = found.iter().map(|(i, ..)| i.id).collect();
    let numbers: HashMap<InvoiceId, &str> = found.iter().map(|(i, ..)| (i.id, i.number.as_str())).collect();
    let mut out = Rows::default();
    for line in exports::invoice_lines(c, &ids)? {
        out.push(&[
            numbers.get(&line.invoice_id).copied().unwrap_or_default().into(),
            figure(line.position),
            line.name.as_str().into(),
            line.kind.label().into(),
            money(line.amount),
            money(line.tax),
            line.billed_by.label().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}

pub(super) fn payment_headings() -> Vec<String> {
    let fields = [
        Field::Name,
        Field::Mail,
        Field::Phone,
        Field::Amount,
        Field::PaidOn,
        Field::Method,
        Field::Reference,
        Field::Way,
        Field::Order,
        Field::Invoice,
        Field::Notes,
    ];
    fields.iter().map(|f| f.label().to_string()).collect()
}

/// A line for each payment; the order or invoice is named where all of it was put to that one.
pub(super) fn payments(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::payments(c, after, PAGE)?;
    let ids: Vec<PaymentId> = found.iter().map(|(p, _)| p.id).collect();
    let mut aims: HashMap<PaymentId, HashMap<(Option<String>, Option<String>), i64>> = HashMap::new();
    for (a, order, invoice) in exports::allocations(c, &ids)? {
        let n = aims.entry(a.payment_id).or_default().entry((order, invoice)).or_default();
        *n = n.saturating_add(a.amount.cents());
    }
    let mut out = Rows::default();
    for (p, who) in &found {
        let whole = aims.get(&p.id).and_then(|all| all.iter().find(|(_, cents)| **cents == p.amount.cents()));
        let (order, invoice) = whole.map(|(aim, _)| aim.clone()).unwrap_or_default();
        out.push(&[
            who.name.as_str().into(),
            who.mail.as_str().into(),
            who.phone.as_str().into(),
            money(p.amount),
            day(Some(p.received_on)),
            p.method.as_str().into(),
            p.reference.as_str().into(),
            p.kind.label().into(),
            order.unwrap_or_default().into(),
            invoice.unwrap_or_default().into(),
            p.note.as_str().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}

pub(super) fn allocation_headings() -> Vec<String> {
    names(["Payment received on", "Customer", "Check number or reference", "Of", "Amount", "Order", "Invoice"])
}

/// A line for each part of a payment that was put to something or taken off it again (below zero).
pub(super) fn allocations(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::payments(c, after, PAGE)?;
    let ids: Vec<PaymentId> = found.iter().map(|(p, _)| p.id).collect();
    let by_id: HashMap<PaymentId, _> = found.iter().map(|(p, who)| (p.id, (p, who))).collect();
    let mut out = Rows::default();
    for (a, order, invoice) in exports::allocations(c, &ids)? {
        let Some((p, who)) = by_id.get(&a.payment_id) else { continue };
        out.push(&[
            day(Some(p.received_on)),
            who.name.as_str().into(),
            p.reference.as_str().into(),
            money(p.amount),
            money(a.amount),
            order.unwrap_or_default().into(),
            invoice.unwrap_or_default().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}

pub(super) fn charge_headings() -> Vec<String> {
    names([
        "Processor",
        "Charge",
        "Species",
        "Share",
        "Per",
        "Rate",
        "Least amount",
        "Billed by",
        "Tax percent",
        "Not charged any more",
    ])
}

pub(super) fn charges(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::charges(c, after, PAGE)?;
    let mut out = Rows::default();
    for (charge, plant) in &found {
        out.push(&[
            plant.as_str().into(),
            charge.name.as_str().into(),
            charge.species.map_or("", |s| s.label()).into(),
            charge.size.map_or("", |s| s.label()).into(),
            charge.per.label().into(),
            Cell::Figure(plain(charge.rate.ten_thousandths(), 4)),
            Cell::Figure(charge.minimum_amount.map(Money::plain).unwrap_or_default()),
            charge.billed_by.label().into(),
            Cell::Figure(charge.tax_percent.shown()),
            super::yes(charge.retired_at.is_some()),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, found.last().map(|(charge, _)| charge.id.0)))
}
