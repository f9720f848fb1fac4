//! Customers: the list, one customer, adding, changing, and suggestions while typing.

use crate::actions::Failure;
use crate::actions::add_customer::{CustomerIn, add_customer, change_customer};
use crate::book::ids::CustomerId;
use crate::book::rows::people::Customer;
use crate::book::{invoices, payments, people, reservations, standing, stories};
use crate::trade::{dates, fold};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::{Link, Standing, StoryLine};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

pub mod statement;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/customers", web::get().to(list));
    cfg.route("/customers/suggest", web::get().to(suggest));
    cfg.route("/customers/new", web::get().to(new));
    cfg.route("/customers/new", web::post().to(add));
    cfg.route("/customers/{id}", web::get().to(show));
    cfg.route("/customers/{id}/statement", web::get().to(statement::show));
    cfg.route("/customers/{id}/statement.pdf", web::get().to(statement::paper));
    cfg.route("/customers/{id}/edit", web::get().to(edit));
    cfg.route("/customers/{id}/edit", web::post().to(save));
}

/// Customers on a page.
const PAGE: usize = 50;

#[derive(Template)]
#[template(path = "farm/customers/list.html")]
struct ListPage {
    frame: Frame,
    q: String,
    rows: Vec<Customer>,
    newer: Option<Link>,
    older: Option<Link>,
    count: String,
}

async fn list(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    let after = query.get("after").and_then(|a| a.parse().ok()).map(CustomerId);
    let words = fold::fold(&q);
    let mut rows = app
        .read(move |c| {
            let key = match after {
                Some(id) => Some((people::get(c, id)?.search, id)),
                None => None,
            };
            Ok(people::page(c, &words, key, PAGE as i64 + 1)?)
        })
        .await?;
    let more = rows.len() > PAGE;
    rows.truncate(PAGE);
    let encoded: String = form_urlencoded::byte_serialize(q.as_bytes()).collect();
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Customers),
        newer: after.map(|_| Link::new(format!("/customers?q={encoded}"), "From the beginning")),
        older: rows
            .last()
            .filter(|_| more)
            .map(|l| Link::new(format!("/customers?q={encoded}&after={}", l.id), "More customers")),
        count: format!("{} by name", rows.len()),
        q,
        rows,
    }))
}

struct OrderRow {
    href: String,
    number: String,
    share: String,
    standing: Standing,
    balance: String,
}

#[derive(Template)]
#[template(path = "farm/customers/show.html")]
struct ShowPage {
    frame: Frame,
    who: Customer,
    lead: String,
    orders: Vec<OrderRow>,
    credit: String,
    owes: bool,
    story: Vec<StoryLine>,
}

async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = CustomerId(*id);
    let today = farmer.now.today;
    let (who, orders, mut facts, credit, open, story) = app
        .read(move |c| {
            let who = people::get(c, id)?;
            let orders = reservations::of_customer(c, id, 100)?;
            let facts = standing::facts(c, &orders.iter().map(|(r, _)| r).collect::<Vec<_>>())?;
            Ok((
                who,
                orders,
                facts,
                payments::credit(c, id)?,
                invoices::open(c, Some(id), 200)?,
                stories::of_customer(c, id)?,
            ))
        })
        .await?;
    let owed: i64 = open.iter().map(|(_, _, m)| m.cents()).sum();
    let owed = crate::trade::money::Money::from_cents(owed);
    let orders: Vec<OrderRow> = orders
        .iter()
        .map(|(r, o)| {
            let f = facts.remove(&r.id).unwrap_or_default();
            OrderRow {
                href: format!("/orders/{}", r.id),
                number: r.number.clone(),
                share: format!("{}, {}", words::share(r, o), o.season),
                standing: words::standing_for(&farmer, &f.standing(r, today)),
                balance: f.balance().filter(|_| farmer.sees_money()).map(|b| b.shown()).unwrap_or_default(),
            }
        })
        .collect();
    let n = orders.len();
    let lead = match (n, owed.is_positive()) {
        (0, _) => "No orders yet.".to_string(),
        (n, _) if !farmer.sees_money() => format!("{n} order{}.", if n == 1 { "" } else { "s" }),
        (_, true) => {
            format!("{} owed on {} invoice{}.", owed.dollars(), open.len(), if open.len() == 1 { "" } else { "s" })
        }
        (n, false) => format!("{n} order{}, nothing owed.", if n == 1 { "" } else { "s" }),
    };
    Ok(page(&ShowPage {
        frame: farmer.frame(Tab::Customers),
        lead,
        orders,
        credit: if credit.is_positive() && farmer.sees_money() { credit.dollars() } else { String::new() },
        owes: owed.is_positive(),
        story: story
            .iter()
            .filter(|s| farmer.may_read(s))
            .map(|s| {
                StoryLine::new(dates::short(s.at.day(farmer.now.zone), today), s.line.clone()).why(s.detail.clone())
            })
            .collect(),
        who,
    }))
}

#[derive(Template)]
#[template(path = "farm/customers/edit.html")]
struct EditPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    action: String,
    back: String,
    is_new: bool,
}

const LABELS: &[(&str, &str)] = &[
    ("name", "Name"),
    ("mail", "Mail address"),
    ("phone", "Phone"),
    ("address", "Address"),
    ("notes", "Notes"),
    ("no_offers", "Does not want to hear what is for sale"),
];

fn read(form: &mut FormIn) -> Option<CustomerIn> {
    let name = form.text("name", "Name", 120);
    let mail = form.optional_mail_address("mail", "Mail address");
    let phone = form.optional_phone("phone", "Phone");
    let address = form.optional_lines("address", "Address", 400);
    let notes = form.optional_lines("notes", "Notes", 2000);
    let no_offers = form.tick("no_offers");
    Some(CustomerIn { name: name?, mail: mail?, phone: phone?, address: address?, notes: notes?, no_offers })
}

fn new_page(farmer: &Farmer, draft: Draft) -> EditPage {
    EditPage {
        frame: farmer.frame(Tab::Customers),
        draft,
        heading: "Add a customer".into(),
        action: "/customers/new".into(),
        back: "/customers".into(),
        is_new: true,
    }
}

async fn new(farmer: Farmer) -> Answer {
    Ok(page(&new_page(&farmer, Draft::empty())))
}

async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let input = read(&mut form);
    let input = match form.finish((input,)) {
        Ok((input,)) => input,
        Err(draft) => return Ok(refused(&new_page(&farmer, draft))),
    };
    match app.act(&farmer, &key, move |tx, doing| Ok(format!("/customers/{}", add_customer(tx, doing, &input)?))).await
    {
        Ok(url) => Ok(notice::with(see_other(&url), "The customer is in the book.")),
        Err(f) => Ok(refused(&new_page(&farmer, refusal(&form, f)?))),
    }
}

fn stored(who: &Customer) -> Draft {
    Draft::empty()
        .with("version", who.version.to_string())
        .with("name", who.name.clone())
        .with("mail", who.mail.clone())
        .with("phone", who.phone.clone())
        .with("address", who.address.clone())
        .with("notes", who.notes.clone())
        .with_some("no_offers", who.no_offers.then_some("yes"))
}

fn edit_page(farmer: &Farmer, id: CustomerId, draft: Draft) -> EditPage {
    EditPage {
        frame: farmer.frame(Tab::Customers),
        draft,
        heading: "Correct a customer’s facts".into(),
        action: format!("/customers/{id}/edit"),
        back: format!("/customers/{id}"),
        is_new: false,
    }
}

async fn edit(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = CustomerId(*id);
    let who = app.read(move |c| Ok(people::get(c, id)?)).await?;
    Ok(page(&edit_page(&farmer, id, stored(&who))))
}

async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = CustomerId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), read(&mut form));
    let (version, input) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&edit_page(&farmer, id, draft))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_customer(tx, doing, id, version, &input)?;
        Ok(format!("/customers/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let who = app.read(move |c| Ok(people::get(c, id)?)).await?;
            let draft = form.into_draft().stale(&stored(&who), LABELS, &format!("/customers/{id}"));
            Ok(refused(&edit_page(&farmer, id, draft)))
        }
        Err(f) => Ok(refused(&edit_page(&farmer, id, refusal(&form, f)?))),
    }
}

#[derive(Template)]
#[template(path = "farm/customers/suggest.html")]
struct SuggestPage {
    found: Vec<Customer>,
    /// Whether a reservation is being typed: then choosing keeps what is typed.
    for_order: bool,
}

async fn suggest(_farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let get = |name: &str| query.get(name).map(|v| v.chars().take(120).collect::<String>()).unwrap_or_default();
    let (name, mail, phone) = (get("name"), get("mail"), get("phone"));
    let for_order = get("for") == "order";
    let found = app.read(move |c| Ok(people::alike(c, &name, &mail, &phone)?)).await?;
    Ok(page(&SuggestPage { found, for_order }))
}
