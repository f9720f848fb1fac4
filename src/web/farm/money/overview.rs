//! What is owed and how late, what is held as deposits, what is owed back, and what came in.

use crate::book::ids::InvoiceId;
use crate::book::invoices;
use crate::book::money_sums;
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

struct Row {
    href: String,
    number: String,
    who: String,
    standing: Standing,
    owed: String,
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
    payments: Vec<(String, String, String, String)>,
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
    let (owed, late, held, open, all, payments, credits) = app
        .read(move |c| {
            let (owed, late) = invoices::owed_in_all(c, today)?;
            Ok((
                owed,
                late,
                money_sums::deposits_held(c)?,
                invoices::open(c, None, 50)?,
                invoices::page(c, before, PAGE as i64 + 1)?,
                money_sums::latest_payments(c, 20)?,
                money_sums::credits(c, 50)?,
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
    let back: i64 = credits.iter().map(|(_, _, m)| m.cents()).sum();
    Ok(page(&MoneyPage {
        frame: farmer.frame(Tab::Money),
        heading,
        sums: vec![
            SumLine::new("Owed on invoices", owed),
            SumLine::new("of it late", late),
            SumLine::new("Deposits held for open orders", held).as_a(SumKind::Apart),
            SumLine::new(
                "Credit of customers, theirs until used or given back",
                crate::trade::money::Money::from_cents(back),
            ),
        ],
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
            .map(|(p, who)| {
                let sign =
                    if p.kind == crate::trade::vocabulary::PaymentKind::Refund { p.amount.negated() } else { p.amount };
                (
                    dates::short(p.received_on, today),
                    who.clone(),
                    crate::actions::make_receipt::method_words(p.method, &p.reference),
                    sign.shown(),
                )
            })
            .collect(),
        credits: credits
            .iter()
            .map(|(id, name, m)| (format!("/customers/{id}/credit"), name.clone(), m.shown()))
            .collect(),
    }))
}
