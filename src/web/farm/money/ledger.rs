//! The ledger: every account with its balance as of a day, the entries behind each figure, and both files for a bookkeeper.

use super::behind;
use crate::actions::export_ledger;
use crate::book::ids::EntryId;
use crate::book::ledger::read::{self, Key, Shown};
use crate::trade::dates;
use crate::trade::ledger::{Account, Class};
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::{CSV, attachment, page};
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Entries on a page.
const PAGE: usize = 20;

struct Group {
    heading: &'static str,
    rows: Vec<(Link, String)>,
    total: String,
}

struct EntryRow {
    day: String,
    what: String,
    customer: Option<Link>,
    about: Vec<Link>,
    note: String,
    lines: Vec<(String, String, String)>,
}

#[derive(Template)]
#[template(path = "farm/money/ledger.html")]
struct LedgerPage {
    frame: Frame,
    day: String,
    day_words: String,
    groups: Vec<Group>,
    heading: String,
    account: String,
    entries: Vec<EntryRow>,
    all: Option<Link>,
    newer: Option<Link>,
    older: Option<Link>,
}

/// What is asked for in the address. What cannot be read counts as left out.
struct Asked {
    day: NaiveDate,
    account: Option<Account>,
    before: Option<Key>,
}

fn asked(query: &HashMap<String, String>, today: NaiveDate) -> Asked {
    let get = |name: &str| query.get(name).map(String::as_str).unwrap_or_default();
    let key = get("before").split_once('_');
    Asked {
        day: get("day").parse().unwrap_or(today),
        account: get("account").parse().ok(),
        before: key.and_then(|(day, id)| Some((day.parse().ok()?, EntryId(id.parse().ok()?)))),
    }
}

/// A balance as people read it: what the farm has and lost as it is, what it owes and earned turned around.
fn shown(account: Account, amount: Money) -> Money {
    match account.class() {
        Class::Asset | Class::Expense => amount,
        Class::Liability | Class::Income => amount.negated(),
    }
}

fn groups(balances: &[(Account, Money)], day: NaiveDate) -> Vec<Group> {
    let of = |class: Class| balances.iter().filter(move |(account, _)| account.class() == class);
    Class::ALL
        .iter()
        .filter(|class| of(**class).next().is_some())
        .map(|class| Group {
            heading: class.label(),
            rows: of(*class)
                .map(|(account, amount)| {
                    let href = format!("/money/ledger?day={day}&account={account}#entries");
                    (Link::new(href, account.label()), shown(*account, *amount).shown())
                })
                .collect(),
            total: Money::from_cents(of(*class).map(|(account, m)| shown(*account, *m).cents()).sum()).shown(),
        })
        .collect()
}

fn row(one: &Shown, today: NaiveDate) -> EntryRow {
    let e = &one.entry;
    let mut about = Vec::new();
    if let (Some(id), Some(number)) = (e.reservation_id, &one.order) {
        about.push(Link::new(format!("/orders/{id}"), format!("Order {number}")));
    }
    if let (Some(id), Some(number)) = (e.invoice_id, &one.invoice) {
        about.push(Link::new(format!("/invoices/{id}"), format!("Invoice {number}")));
    }
    let side = |is_mine: bool, amount: Money| if is_mine { amount.shown() } else { String::new() };
    EntryRow {
        day: dates::short(e.day, today),
        what: format!("{}. {}", e.id, e.kind.label()),
        customer: e.customer_id.map(|id| Link::new(format!("/customers/{id}"), one.customer.clone())),
        about,
        note: e.note.clone(),
        lines: one
            .lines
            .iter()
            .map(|l| {
                let debit = l.amount.is_positive();
                (l.account.label().to_string(), side(debit, l.amount), side(!debit, l.amount.negated()))
            })
            .collect(),
    }
}

/// The page: `?day=`, `?account=`, and `?before=` for older entries; with `?lines=` the lines behind a figure, see [`behind`].
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    if let Some(wanted) = behind::asked(&query) {
        return behind::show(farmer, app, &query, wanted).await;
    }
    let today = farmer.now.today;
    let Asked { day, account, before } = asked(&query, today);
    let (balances, mut entries) =
        app.read(move |c| Ok((read::balances(c, day)?, read::page(c, account, day, before, PAGE as i64 + 1)?))).await?;
    let more = entries.len() > PAGE;
    entries.truncate(PAGE);
    let narrowed = account.map(|a| format!("&account={a}")).unwrap_or_default();
    let begin = format!("/money/ledger?day={day}{narrowed}");
    Ok(page(&LedgerPage {
        frame: farmer.frame(Tab::Money),
        day: day.to_string(),
        day_words: dates::long(day, today),
        groups: groups(&balances, day),
        heading: account.map_or("Entries".to_string(), |a| format!("Entries on “{}”", a.label())),
        account: account.map(|a| a.to_string()).unwrap_or_default(),
        all: account.map(|_| Link::new(format!("/money/ledger?day={day}#entries"), "Entries on all accounts")),
        newer: before.map(|_| Link::new(format!("{begin}#entries"), "Newest entries")),
        older: entries
            .last()
            .filter(|_| more)
            .map(|l| Link::new(format!("{begin}&before={}_{}#entries", l.entry.day, l.entry.id), "Older entries")),
        entries: entries.iter().map(|e| row(e, today)).collect(),
    }))
}

/// Every line as a table for spreadsheets, or those behind a figure.
///
/// # Errors
/// When the book cannot be read.
pub async fn table(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    if let Some(wanted) = behind::asked(&query) {
        let text = app.read(move |c| behind::file(c, &wanted)).await?;
        return Ok(attachment("ledger-lines.csv", CSV, text));
    }
    let day = asked(&query, farmer.now.today).day;
    let text = app.read(move |c| export_ledger::table(c, day)).await?;
    Ok(attachment(&format!("ledger-{day}.csv"), CSV, text))
}

/// The journal of plain-text accounting.
///
/// # Errors
/// When the book cannot be read.
pub async fn journal(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let day = asked(&query, farmer.now.today).day;
    let text = app.read(move |c| export_ledger::journal(c, day)).await?;
    Ok(attachment(&format!("journal-{day}.txt"), "text/plain; charset=utf-8", text))
}
