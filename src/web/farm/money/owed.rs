//! What is owed and how late, customer by customer.

use crate::book::invoices;
use crate::trade::ageing::{Age, age};
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::BTreeMap;

/// The most open invoices that are looked at.
const MOST: i64 = 5_000;

struct Row {
    who: Link,
    /// One figure for each class, empty for nothing.
    ages: Vec<String>,
    total: String,
}

#[derive(Template)]
#[template(path = "farm/money/owed.html")]
struct OwedPage {
    frame: Frame,
    lead: String,
    classes: Vec<&'static str>,
    rows: Vec<Row>,
    sums: Vec<String>,
    total: String,
}

fn figures(cents: &BTreeMap<Age, i64>) -> Vec<String> {
    let of = |age: &Age| cents.get(age).copied().unwrap_or(0);
    Age::ALL.iter().map(|a| if of(a) == 0 { String::new() } else { Money::from_cents(of(a)).shown() }).collect()
}

fn total(cents: &BTreeMap<Age, i64>) -> Money {
    Money::from_cents(cents.values().sum())
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let today = farmer.now.today;
    let open = app.read(move |c| Ok(invoices::open(c, None, MOST)?)).await?;
    let mut people: BTreeMap<_, (String, BTreeMap<Age, i64>)> = BTreeMap::new();
    let mut all: BTreeMap<Age, i64> = BTreeMap::new();
    for (invoice, who, owed) in &open {
        let class = age(invoice.due_on, today);
        let mine = people.entry(who.id).or_insert_with(|| (who.name.clone(), BTreeMap::new()));
        *mine.1.entry(class).or_default() += owed.cents();
        *all.entry(class).or_default() += owed.cents();
    }
    // Who is latest stands first.
    let mut rows: Vec<_> = people.into_iter().collect();
    rows.sort_by(|(_, (a, ages_a)), (_, (b, ages_b))| {
        let late = |ages: &BTreeMap<Age, i64>| (ages.keys().next_back().copied(), total(ages).cents());
        late(ages_b).cmp(&late(ages_a)).then(a.cmp(b))
    });
    let late = Money::from_cents(all.iter().filter(|(a, _)| **a != Age::NotDue).map(|(_, n)| n).sum());
    Ok(page(&OwedPage {
        frame: farmer.frame(Tab::Money),
        lead: match (open.is_empty(), late.is_positive()) {
            (true, _) => "Nothing is owed to you.".into(),
            (_, false) => format!("{} is owed, none of it late.", total(&all).dollars()),
            (_, true) if late == total(&all) => format!("{} is owed, all of it late.", late.dollars()),
            (_, true) => format!("{} is owed, {} of it late.", total(&all).dollars(), late.dollars()),
        },
        classes: Age::ALL.iter().map(|a| a.label()).collect(),
        rows: rows
            .iter()
            .map(|(id, (name, ages))| Row {
                who: Link::new(format!("/customers/{id}/statement"), name.clone()),
                ages: figures(ages),
                total: total(ages).shown(),
            })
            .collect(),
        sums: figures(&all),
        total: total(&all).shown(),
    }))
}
