//! The order book: search, narrow down, 25 a page by key, newest first.

use super::words;
use crate::book::ids::ReservationId;
use crate::book::reservations::{self, Narrow, Wanted};
use crate::book::standing::{self, OrderStanding};
use crate::trade::share::Species;
use crate::trade::{dates, fold};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::rail::Glyph;
use crate::web::look::respond::page;
use crate::web::look::{Choices, Frame, Tab, choices};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// Orders on a page.
const PAGE: usize = 25;

struct Row {
    href: String,
    name: String,
    number: String,
    glyph: Glyph,
    share: String,
    place: String,
    standing: Standing,
    balance: String,
}

#[derive(Template)]
#[template(path = "farm/orders/list.html")]
struct ListPage {
    frame: Frame,
    draft: Draft,
    seasons: Choices,
    species: Choices,
    standings: Choices,
    narrowed: String,
    rows: Vec<Row>,
    newer: Option<Link>,
    older: Option<Link>,
    count: String,
    is_searched: bool,
}

/// The list.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let get = |name: &str| query.get(name).map(|v| v.trim().chars().take(100).collect::<String>()).unwrap_or_default();
    let today = farmer.now.today;
    let wanted = Wanted {
        words: fold::fold(&get("q")),
        season: Some(get("season")).filter(|s| !s.is_empty()),
        species: get("species").parse().ok(),
        standing: get("standing").parse().ok(),
        before: get("before").parse().ok().map(ReservationId),
        today: Some(today),
    };
    let asked = wanted.clone();
    let (orders, mut facts, seasons) = app
        .read(move |c| {
            let orders = reservations::page(c, &asked, PAGE as i64 + 1)?;
            let facts = standing::facts(c, &orders.iter().map(|(r, ..)| r).collect::<Vec<_>>())?;
            Ok((orders, facts, reservations::seasons(c)?))
        })
        .await?;
    let more = orders.len() > PAGE;
    let last = orders.get(PAGE.saturating_sub(1)).map(|(r, ..)| r.id);
    let rows: Vec<Row> = orders
        .iter()
        .take(PAGE)
        .map(|(r, customer, o)| {
            let f = facts.remove(&r.id).unwrap_or_default();
            let standing = f.standing(r, today);
            let place = match (&f.animal, &f.date, &standing) {
                (Some(a), Some((_, day)), _) => format!("{}, {}", dates::short(*day, today), words::animal(a)),
                (Some(a), None, _) => words::animal(a),
                (None, _, OrderStanding::Waiting(n)) => format!("Waiting list, {} in line", words::ordinal(*n)),
                (None, _, OrderStanding::Cancelled) => "—".into(),
                (None, ..) => "No animal yet".into(),
            };
            Row {
                href: format!("/orders/{}", r.id),
                name: customer.name.clone(),
                number: r.number.clone(),
                glyph: if f.held.is_positive() || r.deposit_asked.is_zero() {
                    words::glyph(r, f.share.as_ref())
                } else {
                    words::glyph(r, f.share.as_ref()).held()
                },
                share: words::share(r, o),
                place,
                standing: words::standing_for(&farmer, &standing),
                balance: f.balance().filter(|_| farmer.sees_money()).map(|b| b.shown()).unwrap_or_default(),
            }
        })
        .collect();
    let narrowing =
        [("q", get("q")), ("season", get("season")), ("species", get("species")), ("standing", get("standing"))];
    let link = |before: Option<ReservationId>| {
        let mut pairs = form_urlencoded::Serializer::new(String::new());
        for (k, v) in narrowing.iter().filter(|(_, v)| !v.is_empty()) {
            pairs.append_pair(k, v);
        }
        if let Some(before) = before {
            pairs.append_pair("before", &before.to_string());
        }
        format!("/orders?{}", pairs.finish())
    };
    let season = wanted.season.clone().map_or("all seasons".to_string(), |s| format!("season {s}"));
    let narrowed = format!(
        "{season}, {}, {}",
        wanted.species.map_or("all species", Species::label),
        wanted.standing.map_or("all standings", Narrow::label)
    );
    let mut draft = Draft::empty();
    for (k, v) in &narrowing {
        draft = draft.with(*k, v.clone());
    }
    let count = match rows.len() {
        0 => "No orders".to_string(),
        1 => "One order".to_string(),
        n if more => format!("{n} orders on this page, newest first"),
        n => format!("{n} orders, newest first"),
    };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        seasons: seasons.into_iter().map(|s| (s.clone(), s)).collect(),
        species: choices(Species::ALL, Species::as_str, Species::label),
        standings: choices(Narrow::ALL, Narrow::as_str, Narrow::label),
        narrowed,
        rows,
        newer: wanted.before.map(|_| Link::new(link(None), "Newest orders")),
        older: last.filter(|_| more).map(|last| Link::new(link(Some(last)), "Older orders")),
        count,
        is_searched: narrowing.iter().any(|(_, v)| !v.is_empty()),
    }))
}
