//! Searching everything by a few words: people, orders, tags, invoice and receipt numbers; case and accents do not count.

use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::reservations::{self, Wanted};
use crate::book::{people, search};
use crate::trade::fold::fold;
use crate::trade::reference::{self, Typed};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/search", web::get().to(show));
}

/// Hits of each kind that are shown.
const HITS: usize = 10;
/// One more is asked for, to know whether there are more.
const ASKED: i64 = 11;

/// Hits of one kind.
struct Group {
    id: &'static str,
    name: &'static str,
    hits: Vec<(Link, String)>,
    has_more: bool,
}

impl Group {
    fn new(id: &'static str, name: &'static str, mut hits: Vec<(Link, String)>) -> Self {
        let has_more = hits.len() > HITS;
        hits.truncate(HITS);
        Self { id, name, hits, has_more }
    }
}

#[derive(Template)]
#[template(path = "farm/search.html")]
struct SearchPage {
    frame: Frame,
    q: String,
    heading: String,
    groups: Vec<Group>,
    nothing: bool,
    /// What is wrong with a payment reference that was typed.
    why: &'static str,
}

fn look(c: &mut DbConn, folded: &str, typed: &str) -> Result<Vec<Group>, Failure> {
    if let Typed::Order(number) = reference::read(typed)
        && let Some(id) = reservations::by_number(c, &number)?
    {
        let (r, customer, o) = reservations::get(c, id)?;
        let what = format!("{}, {}", r.number, words::share(&r, &o).to_lowercase());
        let hits = vec![
            (Link::new(format!("/orders/{id}"), customer.name), what),
            (Link::new(format!("/orders/{id}/deposit"), "Record its deposit"), String::new()),
        ];
        return Ok(vec![Group::new("orders", "The order with this payment reference", hits)]);
    }
    let people = people::page(c, folded, None, ASKED)?.into_iter().map(|p| {
        let reached = if p.mail.is_empty() { p.phone } else { p.mail };
        (Link::new(format!("/customers/{}", p.id), p.name), reached)
    });
    let people = people.collect();
    let wanted = Wanted { words: folded.to_string(), ..Wanted::default() };
    let orders = reservations::page(c, &wanted, ASKED)?;
    let orders = orders.iter().map(|(r, who, o)| {
        let name = format!("{} for {}", words::share(r, o), who.name);
        (Link::new(format!("/orders/{}", r.id), name), format!("{}, {}", r.number, o.season))
    });
    let orders = orders.collect();
    let animals = search::animals(c, folded, typed, ASKED)?;
    let animals = animals.iter().map(|a| {
        (
            Link::new(format!("/animals/{}", a.id), a.name()),
            if a.lost_on.is_some() { "Lost".into() } else { a.breed.clone() },
        )
    });
    let animals = animals.collect();
    let invoices = search::invoices(c, folded, ASKED)?;
    let invoices =
        invoices.into_iter().map(|(id, n)| (Link::new(format!("/invoices/{id}"), n), String::new())).collect();
    let receipts = search::receipts(c, folded, ASKED)?;
    let receipts =
        receipts.into_iter().map(|(id, n)| (Link::new(format!("/receipts/{id}.pdf"), n), String::new())).collect();
    let mut groups = vec![
        Group::new("people", "Customers", people),
        Group::new("orders", "Orders", orders),
        Group::new("animals", "Animals", animals),
        Group::new("invoices", "Invoices", invoices),
        Group::new("receipts", "Receipts", receipts),
    ];
    groups.retain(|g| !g.hits.is_empty());
    Ok(groups)
}

async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    let frame = farmer.frame(Tab::None);
    let (folded, typed) = (fold(&q), q.clone());
    let mut groups = if folded.is_empty() { Vec::new() } else { app.read(move |c| look(c, &folded, &typed)).await? };
    for g in &mut groups {
        g.hits.retain(|(to, _)| frame.may(&to.href));
    }
    groups.retain(|g| !g.hits.is_empty());
    let found: usize = groups.iter().map(|g| g.hits.len()).sum();
    let heading = match found {
        _ if q.is_empty() => "Search".to_string(),
        0 => format!("Nothing found for “{q}”"),
        1 => format!("One thing found for “{q}”"),
        n if groups.iter().any(|g| g.has_more) => format!("More than {n} things found for “{q}”"),
        n => format!("{} things found for “{q}”", count(n)),
    };
    let is_bent = found == 0 && reference::read(&q) == Typed::Wrong;
    let why = if is_bent { reference::WRONG } else { "" };
    Ok(page(&SearchPage { why, frame, nothing: found == 0 && !q.is_empty(), q, heading, groups }))
}
