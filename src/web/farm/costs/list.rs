//! All costs, the latest first, and what they came to this year.

use crate::actions::enter_cost::in_words;
use crate::book::costs;
use crate::book::ids::CostId;
use crate::trade::costs::CostKind;
use crate::trade::dates::{full, short};
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

/// Costs on a page.
const PAGE: usize = 40;

struct Row {
    what: Link,
    words: String,
    day: String,
    animals: String,
    amount: String,
    is_gone: bool,
}

#[derive(Template)]
#[template(path = "farm/costs/list.html")]
struct ListPage {
    frame: Frame,
    lead: String,
    rows: Vec<Row>,
    sums: Vec<SumLine>,
    newer: Option<Link>,
    older: Option<Link>,
}

/// "Steer 229", or "Steer 229 and 3 more".
pub(super) fn animals_words(lot: &costs::Lot) -> String {
    let first = lot.heads.first().map_or("", |h| h.name.as_str());
    match lot.heads.len() {
        0 | 1 => first.to_string(),
        n => format!("{first} and {} more", n - 1),
    }
}

/// The day and id a page begins after: `2027-07-03_12`.
fn after(text: &str) -> Option<(NaiveDate, CostId)> {
    let (day, id) = text.split_once('_')?;
    Some((day.parse().ok()?, id.parse().ok()?))
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let today = farmer.now.today;
    let before = query.get("before").and_then(|b| after(b));
    let first = NaiveDate::from_ymd_opt(today.year(), 1, 1).unwrap_or(today);
    let (mut lots, year) = app
        .read(move |c| {
            Ok((costs::page(c, before, i64::try_from(PAGE + 1).unwrap_or(41))?, costs::between(c, first, today)?))
        })
        .await?;
    let more = lots.len() > PAGE;
    lots.truncate(PAGE);
    let of = |kind: CostKind| Money::sum(year.iter().filter(|(k, _)| *k == kind).map(|(_, m)| *m));
    let total = Money::sum(year.iter().map(|(_, m)| *m)).map_err(crate::actions::Failure::from)?;
    let mut sums = Vec::new();
    for kind in CostKind::ALL {
        let sum = of(*kind).map_err(crate::actions::Failure::from)?;
        if sum.is_positive() {
            sums.push(SumLine::new(capital(kind.label()), sum));
        }
    }
    if !sums.is_empty() {
        sums.push(SumLine::new(format!("Since January 1, {}", today.year()), total).as_a(SumKind::Total));
    }
    let last = lots.last().filter(|_| more).map(|l| format!("/costs?before={}_{}", l.cost.on_day, l.cost.id));
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Money),
        lead: if total.is_positive() {
            format!("{} since {}.", total.dollars(), full(first))
        } else {
            "What your animals cost you: to see what is left of their price.".into()
        },
        rows: lots
            .iter()
            .map(|lot| Row {
                what: Link::new(format!("/costs/{}", lot.cost.id), capital(lot.cost.kind.label())),
                words: lot.cost.words.clone(),
                day: short(lot.cost.on_day, today),
                animals: animals_words(lot),
                amount: lot.cost.amount.shown(),
                is_gone: lot.cost.taken_back_at.is_some(),
            })
            .collect(),
        sums,
        newer: before.map(|_| Link::new("/costs", "Latest costs")),
        older: last.map(|href| Link::new(href, "Older costs")),
    }))
}

/// The heading of a cost's page.
pub(super) fn heading(lot: &costs::Lot) -> String {
    in_words(lot.cost.kind, lot.cost.amount, lot.heads.len())
}
