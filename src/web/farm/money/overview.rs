//! What is owed and how late, what is held as deposits, what is owed back, and what came in.

use crate::book::ids::{InvoiceId, PaymentId};
use crate::book::invoices;
use crate::book::money_sums;
use crate::book::refunds;
use crate::book::unmatched;
use crate::trade::vocabulary::PaymentKind;
use crate::trade::{dates, terms};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing, SumKind, SumLine};
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// Invoices on a page.
const PAGE: usize = 25;
/// Open invoices shown, the longest due.
const MOST_OPEN: i64 = 50;

struct Row {
    href: String,
    number: String,
    who: String,
    standing: Standing,
    owed: String,
}

struct PaymentRow {
    id: PaymentId,
    day: String,
    who: String,
    how: String,
    amount: String,
    /// Its receipt, address and number.
    receipt: Option<Link>,
    /// Whether a receipt could be made.
    was_received: bool,
}

#[derive(Template)]
#[template(path = "farm/money/overview.html")]
struct MoneyPage {
    frame: Frame,
    heading: String,
    sums: Vec<SumLine>,
    open: Vec<Row>,
    rows: Vec<Row>,
    newer: Option<Link>,
    older: Option<Link>,
    more: i64,
    payments: Vec<PaymentRow>,
    credits: Vec<(String, String, String)>,
}

fn row(
    i: &crate::book::rows::invoices::Invoice,
    who: &str,
    owed: crate::trade::money::Money,
    voided: Option<&str>,
    today: chrono::NaiveDate,
) -> Row {
    let late = terms::days_late(i.due_on, today);
    let standing = match (voided, owed.is_positive(), late) {
        (Some(n), ..) => Standing::wait(format!("Voided, {n}")),
        (None, false, _) => Standing::done("Paid"),
        (None, true, 0) => {
            Standing::part(i.due_on.map_or("Due before pickup".into(), |d| format!("Due {}", dates::short(d, today))))
        }
        (None, true, n) => Standing::late(format!("{n} day{} overdue", if n == 1 { "" } else { "s" })),
    };
    Row {
        href: format!("/invoices/{}", i.id),
        number: i.number.clone(),
        who: who.to_string(),
        standing,
        owed: if voided.is_some() { String::new() } else { owed.shown() },
    }
}

/// The page; `?before=` pages through all invoices.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let today = farmer.now.today;
    let before = query.get("before").and_then(|b| b.parse().ok()).map(InvoiceId);
    let (owed, late, held, open, open_in_all, all, (payments, slips, undoing), (credits, credit, not_matched)) = app
        .read(move |c| {
            let (owed, late) = invoices::owed_in_all(c, today)?;
            let latest = money_sums::latest_payments(c, 20)?;
            let ids: Vec<PaymentId> = latest.iter().map(|(p, ..)| p.id).collect();
            let (slips, undoing) = (refunds::slips_of(c, &ids)?, refunds::undoing(c, &ids)?);
            Ok((
                owed,
                late,
                money_sums::deposits_held(c)?,
                invoices::open(c, None, MOST_OPEN)?,
                invoices::count_open(c)?,
                invoices::page(c, before, PAGE as i64 + 1)?,
                (latest, slips, undoing),
                (money_sums::credits(c, 50)?, money_sums::credit_in_all(c)?, unmatched::waiting_in_all(c)?.0),
            ))
        })
        .await?;
    let more = all.len() > PAGE;
    let last = all.get(PAGE - 1).map(|((i, ..), _)| i.id);
    let heading = match (owed.is_positive(), late.is_positive()) {
        (false, _) => "Nothing is owed to you".to_string(),
        (true, false) => format!("{} is owed, none of it late", owed.dollars()),
        (true, true) => format!("{} is owed, {} of it late", owed.dollars(), late.dollars()),
    };
    Ok(page(&MoneyPage {
        frame: farmer.frame(Tab::Money),
        heading,
        sums: vec![
            SumLine::new("Owed on invoices", owed),
            SumLine::new("of it late", late),
            SumLine::new("Deposits held for open orders", held).as_a(SumKind::Apart),
            SumLine::new("Credit of customers, theirs until used or given back", credit),
            SumLine::new("Received, not yet matched to a customer", not_matched),
        ],
        more: open_in_all.saturating_sub(MOST_OPEN).max(0),
        open: open.iter().map(|(i, who, owed)| row(i, &who.name, *owed, None, today)).collect(),
        rows: all
            .iter()
            .take(PAGE)
            .map(|((i, who, owed), note)| row(i, &who.name, *owed, note.as_deref(), today))
            .collect(),
        newer: before.map(|_| Link::new("/money#all", "Newest invoices")),
        older: last.filter(|_| more).map(|l| Link::new(format!("/money?before={l}#all"), "Older invoices")),
        payments: payments
            .iter()
            .map(|(p, who, receipt)| {
                let was_received = p.kind == PaymentKind::Received;
                let how = crate::actions::make_receipt::method_words(p.method, &p.reference);
                let slip = slips.get(&p.id).map(|(id, n)| Link::new(format!("/refund-slips/{id}.pdf"), n.clone()));
                PaymentRow {
                    id: p.id,
                    day: dates::short(p.received_on, today),
                    who: who.clone(),
                    how: if undoing.contains(&p.id) { format!("{how}, returned by the bank") } else { how },
                    amount: if was_received { p.amount } else { p.amount.negated() }.shown(),
                    receipt: receipt
                        .as_ref()
                        .map(|(id, n)| Link::new(format!("/receipts/{id}.pdf"), n.clone()))
                        .or(slip),
                    was_received,
                }
            })
            .collect(),
        credits: credits
            .iter()
            .map(|(id, name, m)| (format!("/customers/{id}/credit"), name.clone(), m.shown()))
            .collect(),
    }))
}
