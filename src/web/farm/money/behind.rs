//! The lines of the ledger behind a figure of a report: their sum, and each of them.

use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, CustomerId, EntryId, ProcessorId};
use crate::book::ledger::behind::{Counted, Key, page as lines, total};
use crate::book::{animals, people, plants};
use crate::trade::csv::{Cell, row};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::report::behind::Behind;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::reports::table::address;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Lines on a page.
const PAGE: usize = 50;

struct LineRow {
    day: String,
    what: String,
    note: String,
    account: &'static str,
    customer: Option<Link>,
    about: Vec<Link>,
    amount: String,
}

#[derive(Template)]
#[template(path = "farm/money/behind.html")]
struct BehindPage {
    frame: Frame,
    heading: &'static str,
    narrowed: Vec<String>,
    sum: String,
    rows: Vec<LineRow>,
    whole: String,
    file: String,
    newer: Option<Link>,
    older: Option<Link>,
}

/// What the address asks for, when it asks for lines.
pub fn asked(query: &HashMap<String, String>) -> Option<Behind> {
    query.get("lines").and_then(|_| Behind::asked(|name| query.get(name).map(String::as_str)))
}

fn key(query: &HashMap<String, String>) -> Option<Key> {
    let mut parts = query.get("before")?.split('_');
    let (day, id, position) = (parts.next()?, parts.next()?, parts.next()?);
    Some((day.parse().ok()?, EntryId(id.parse().ok()?), position.parse().ok()?))
}

/// How the lines are narrowed, each in words.
fn narrowed(c: &mut DbConn, b: &Behind) -> Result<Vec<String>, Failure> {
    let mut all = Vec::new();
    match (b.from, b.to) {
        (Some(from), Some(to)) => all.push(format!("from {} to {}", dates::full(from), dates::full(to))),
        (Some(from), None) => all.push(format!("from {} on", dates::full(from))),
        (None, Some(to)) => all.push(format!("up to {}", dates::full(to))),
        (None, None) => {}
    }
    all.extend(b.season.as_ref().map(|s| format!("orders of {s}")));
    let share = match (b.share, b.species) {
        (Some(size), Some(species)) => Some(size.of(species).to_lowercase()),
        (Some(size), None) => Some(format!("{} shares", size.label())),
        (None, Some(species)) => Some(species.label().to_string()),
        (None, None) => None,
    };
    all.extend(share);
    if let Some(id) = b.animal {
        all.push(animals::get(c, AnimalId(id)).map_or_else(|_| "an unknown animal".into(), |a| a.name()));
    }
    if let Some(id) = b.plant {
        all.push(plants::get(c, ProcessorId(id)).map_or_else(|_| "an unknown processor".into(), |p| p.name));
    }
    if let Some(id) = b.customer {
        all.push(people::get(c, CustomerId(id)).map_or_else(|_| "an unknown customer".into(), |p| p.name));
    }
    all.extend(b.side.map(|s| s.label().to_string()));
    if b.with_money {
        all.push("only of acts that moved money".into());
    }
    Ok(all)
}

fn shown(b: &Behind, one: &Counted, today: NaiveDate) -> LineRow {
    let mut about = Vec::new();
    if let Some((id, number)) = &one.order {
        about.push(Link::new(format!("/orders/{id}"), format!("Order {number}")));
    }
    if let Some((id, number)) = &one.invoice {
        about.push(Link::new(format!("/invoices/{id}"), format!("Invoice {number}")));
    }
    LineRow {
        day: dates::short(one.entry.day, today),
        what: format!("{}. {}", one.entry.id, one.entry.kind.label()),
        note: one.entry.note.clone(),
        account: one.line.account.label(),
        customer: one.line.customer_id.map(|id| Link::new(format!("/customers/{id}"), one.customer.clone())),
        about,
        amount: b.read(one.line.amount).shown(),
    }
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: &HashMap<String, String>, behind: Behind) -> Answer {
    let today = farmer.now.today;
    let (wanted, before) = (behind.clone(), key(query));
    let (sum, mut counted, narrowed) = app
        .read(move |c| {
            let limit = i64::try_from(PAGE).unwrap_or(i64::MAX).saturating_add(1);
            Ok((total(c, &wanted)?, lines(c, &wanted, before, limit)?, narrowed(c, &wanted)?))
        })
        .await?;
    let more = counted.len() > PAGE;
    counted.truncate(PAGE);
    let pairs: Vec<(&str, String)> = std::iter::once(("lines", "1".to_string())).chain(behind.pairs()).collect();
    let older = counted.last().filter(|_| more).map(|l| {
        let at = format!("{}_{}_{}", l.entry.day, l.entry.id, l.line.position);
        let pairs: Vec<_> = pairs.iter().cloned().chain([("before", at)]).collect();
        Link::new(address("/money/ledger", &pairs, "entries"), "Older lines")
    });
    Ok(page(&BehindPage {
        frame: farmer.frame(Tab::Money),
        heading: behind.on.label(),
        narrowed,
        sum: behind.read(sum).shown(),
        rows: counted.iter().map(|one| shown(&behind, one, today)).collect(),
        whole: behind.to.map_or("/money/ledger".into(), |day| format!("/money/ledger?day={day}")),
        file: address("/money/ledger.csv", &pairs, ""),
        newer: before.map(|_| Link::new(address("/money/ledger", &pairs, "entries"), "Newest lines")),
        older,
    }))
}

const HEADINGS: [&str; 9] = ["Entry", "Day", "Act", "Customer", "Order", "Invoice", "Account", "Amount", "Note"];
/// Lines in a file at most: far above what a year has.
const MOST: i64 = 200_000;

/// The lines as a table for spreadsheets; the amounts add up to the figure.
///
/// # Errors
/// When the book cannot be read.
pub fn file(c: &mut DbConn, behind: &Behind) -> Result<String, Failure> {
    let mut out = row(&HEADINGS.map(Cell::from));
    for one in lines(c, behind, None, MOST)? {
        out.push_str(&row(&[
            Cell::Figure(one.entry.id.to_string()),
            Cell::Figure(one.entry.day.to_string()),
            one.entry.kind.label().into(),
            one.customer.as_str().into(),
            one.order.map(|(_, n)| n).unwrap_or_default().into(),
            one.invoice.map(|(_, n)| n).unwrap_or_default().into(),
            one.line.account.label().into(),
            Cell::Figure(Money::plain(behind.read(one.line.amount))),
            one.entry.note.as_str().into(),
        ]));
    }
    Ok(out)
}
