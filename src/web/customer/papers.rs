//! The papers of an order: as a page that can be read aloud, and as the PDF that was issued. Only those of this order are found.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::Failure;
use crate::actions::paper_again::paper_again;
use crate::book::ids::{InvoiceId, ReceiptId};
use crate::book::{invoices, links, outbox};
use crate::paper::invoice::{Invoice, Processor};
use crate::paper::parts::{Fact, Line};
use crate::paper::receipt::Receipt;
use crate::trade::vocabulary::PaperKind;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::respond::page;
use actix_web::web;
use askama::Template;
use serde::de::DeserializeOwned;

#[derive(Template)]
#[template(path = "customer/paper.html")]
struct PaperPage {
    frame: CustomerFrame,
    heading: String,
    lead: String,
    facts: Vec<Fact>,
    sums: Vec<SumLine>,
    /// What goes to the processor: heading and note, and its sum; no heading when there is none.
    apart: Option<(String, String)>,
    apart_sums: Vec<SumLine>,
    notes: Vec<String>,
    pdf: Link,
}

fn read<T: DeserializeOwned>(document: &str) -> Result<T, Failure> {
    serde_json::from_str(document).map_err(|e| Failure::Unexpected(format!("the stored paper cannot be read: {e}")))
}

fn row(line: &Line) -> SumLine {
    let what = if line.reckoned.is_empty() { line.name.clone() } else { format!("{}, {}", line.name, line.reckoned) };
    SumLine::new(what, line.amount).small(line.note.clone())
}

/// What goes to the processor, line by line.
fn to_plant(p: &Processor) -> Vec<SumLine> {
    let lines = p.lines.iter().map(|s| SumLine::new(s.name.clone(), s.amount));
    lines.chain([SumLine::new(p.total.name.clone(), p.total.amount).as_a(SumKind::Total)]).collect()
}

/// An invoice as a page.
///
/// # Errors
/// 404 when it is not an invoice of this order.
pub async fn invoice(holder: Holder, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (order, id) = (holder.order, InvoiceId(*id));
    let (stored, note) = app
        .read(move |c| {
            let (stored, _, note) = invoices::get(c, id)?;
            if links::is_own_invoice(c, order, id)? { Ok((stored, note)) } else { Err(Failure::NotFound) }
        })
        .await?;
    let paper: Invoice = read(&stored.document)?;
    let mut facts = vec![Fact { name: "Date".into(), value: paper.date.clone() }];
    if !paper.due.is_empty() {
        facts.push(Fact { name: "Due".into(), value: paper.due.clone() });
    }
    facts.extend(paper.facts.iter().cloned());
    let mut sums: Vec<SumLine> = paper.lines.iter().map(row).collect();
    sums.push(SumLine::new(paper.total.name.clone(), paper.total.amount).as_a(SumKind::Middle));
    sums.extend(paper.taxes.iter().chain(&paper.less).map(row));
    sums.push(SumLine::new(paper.balance.name.clone(), paper.balance.amount).as_a(SumKind::Total));
    let mut notes: Vec<String> = if note.is_some() { Vec::new() } else { paper.pay.body.clone() };
    notes.extend(Some(paper.all_in.clone()).filter(|words| !words.is_empty()));
    let lead = match &note {
        Some(n) => format!("We took this invoice back by credit note {}. You need not pay it.", n.number),
        None => "As it was issued. Payments since then stand on your order’s page.".to_string(),
    };
    Ok(page(&PaperPage {
        frame: holder.frame(),
        heading: format!("Invoice {}", paper.number),
        lead,
        facts,
        sums,
        apart_sums: paper.processor.iter().flat_map(to_plant).collect(),
        apart: paper.processor.map(|p| (p.heading, p.note)),
        notes,
        pdf: Link::new(format!("/my/invoice/{id}.pdf"), "The invoice as a PDF"),
    }))
}

/// A receipt as a page.
///
/// # Errors
/// 404 when it is not a receipt of this order alone.
pub async fn receipt(holder: Holder, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (order, id) = (holder.order, ReceiptId(*id));
    let (_, document) = app
        .read(move |c| {
            let mine = links::own_receipts(c, order)?.iter().any(|(mine, _)| *mine == id);
            if mine { Ok(outbox::paper(c, PaperKind::Receipt, id.0)?) } else { Err(Failure::NotFound) }
        })
        .await?;
    let paper: Receipt = read(&document)?;
    let mut facts = vec![Fact { name: "Date".into(), value: paper.date.clone() }];
    facts.extend(paper.facts.iter().cloned());
    let mut sums: Vec<SumLine> = paper.lines.iter().map(row).collect();
    sums.push(SumLine::new(paper.total.name.clone(), paper.total.amount).as_a(SumKind::Total));
    Ok(page(&PaperPage {
        frame: holder.frame(),
        heading: format!("Receipt {}", paper.number),
        lead: "Thank you. We received this from you.".into(),
        facts,
        sums,
        apart: None,
        apart_sums: Vec::new(),
        notes: paper.notes,
        pdf: Link::new(format!("/my/receipt/{id}.pdf"), "The receipt as a PDF"),
    }))
}

/// An invoice's PDF.
///
/// # Errors
/// 404 when it is not an invoice of this order.
pub async fn invoice_pdf(holder: Holder, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (order, id) = (holder.order, InvoiceId(*id));
    let (name, pdf) = app
        .read(move |c| {
            if !links::is_own_invoice(c, order, id)? {
                return Err(Failure::NotFound);
            }
            paper_again(c, PaperKind::Invoice, id.0)
        })
        .await?;
    Ok(pdf_answer(&name, pdf))
}

/// A receipt's PDF.
///
/// # Errors
/// 404 when it is not a receipt of this order alone.
pub async fn receipt_pdf(holder: Holder, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (order, id) = (holder.order, ReceiptId(*id));
    let (name, pdf) = app
        .read(move |c| {
            if !links::own_receipts(c, order)?.iter().any(|(mine, _)| *mine == id) {
                return Err(Failure::NotFound);
            }
            paper_again(c, PaperKind::Receipt, id.0)
        })
        .await?;
    Ok(pdf_answer(&name, pdf))
}
