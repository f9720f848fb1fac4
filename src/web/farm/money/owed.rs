//! What is owed and how late, customer by customer.

use crate::actions::balance_letter::in_force;
use crate::book::rows::balances::BalanceLetter;
use crate::book::{balances, invoices};
use crate::trade::ageing::{Age, age};
use crate::trade::dates::short;
use crate::trade::money::Money;
use crate::trade::terms::days_late;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::letter::schedule_words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// The most open invoices that are looked at.
const MOST: i64 = 5_000;
/// The most invoices past due that are shown one by one.
const SHOWN: usize = 200;

/// An invoice past due.
struct Late {
    who: String,
    invoice: Link,
    standing: Standing,
    last: String,
    owed: String,
}

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
    late: Vec<Late>,
    schedule: String,
}

/// What was written last, and whether letters by schedule are stopped.
fn last_words(letters: Option<&Vec<BalanceLetter>>, is_stopped: bool, today: NaiveDate) -> String {
    let last = letters.and_then(|all| all.last());
    let last =
        last.map_or("None yet".to_string(), |l| format!("{}, {}", capital(l.tone.label()), short(l.written_on, today)));
    if is_stopped { format!("{last}; none by schedule") } else { last }
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
    let (open, letters, stops, rule) = app
        .read(move |c| {
            let open = invoices::open(c, None, MOST)?;
            let late: Vec<_> = open.iter().filter(|(i, ..)| days_late(i.due_on, today) > 0).take(SHOWN).collect();
            let letters = balances::letters(c, &late.iter().map(|(i, ..)| i.id).collect::<Vec<_>>())?;
            let stops = balances::stops(c, &late.iter().map(|(_, who, _)| who.id).collect::<Vec<_>>())?;
            Ok((open, letters, stops, in_force(c)?))
        })
        .await?;
    let late_rows = open.iter().filter(|(i, ..)| days_late(i.due_on, today) > 0).take(SHOWN);
    let late_rows: Vec<Late> = late_rows
        .map(|(i, who, owed)| {
            let n = days_late(i.due_on, today);
            Late {
                who: who.name.clone(),
                invoice: Link::new(format!("/invoices/{}", i.id), i.number.clone()),
                standing: Standing::late(format!("{n} day{} overdue", if n == 1 { "" } else { "s" })),
                last: last_words(letters.get(&i.id), stops.contains_key(&who.id), today),
                owed: owed.shown(),
            }
        })
        .collect();
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
        late: late_rows,
        schedule: schedule_words(&rule),
    }))
}
