//! The pickup list of a date on a phone: a section for each window, a line for each order, ticked off where it stands.

use crate::actions::Failure;
use crate::actions::pickup_list::{self, List, Row, pickup_list};
use crate::actions::pickup_words::{place_line, window_words};
use crate::book::ids::{DateId, PickupWindowId, ReservationId};
use crate::book::pickup_places::Window;
use crate::secret;
use crate::trade::dates::{hour, long, near};
use crate::trade::money::Money;
use crate::trade::pickup::hours;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing, tel};
use crate::web::look::respond::page;
use crate::web::look::words::counted;
use crate::web::look::{Choices, Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// One order.
struct Line {
    order: ReservationId,
    name: String,
    phone: Option<Link>,
    about: String,
    money: Standing,
    is_held: bool,
    standing: Standing,
    is_ready: bool,
    is_collected: bool,
    note: String,
    storage: String,
    has_window: bool,
    /// A form key of its own, because each tick is sent by itself.
    key: String,
    by: String,
    anyway: String,
    at: String,
    select: String,
}

struct Section {
    id: String,
    heading: String,
    place: String,
    taken: String,
    change: String,
    lines: Vec<Line>,
}

#[derive(Template)]
#[template(path = "farm/pickup/list.html")]
struct ListPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    date: Link,
    plant: String,
    heading: String,
    lead: String,
    sections: Vec<Section>,
    windows: Choices,
    to_say: usize,
    has_windows: bool,
}

/// The page with what was typed.
pub(super) async fn list_page(
    farmer: &Farmer,
    app: &App,
    id: DateId,
    draft: Draft,
) -> Result<impl Template + use<>, Failure> {
    let (farm, now) = (farmer.farm.clone(), farmer.now);
    let list = app.read(move |c| pickup_list(c, &farm, now, id)).await?;
    Ok(made(farmer, &list, draft))
}

fn made(farmer: &Farmer, list: &List, mut draft: Draft) -> ListPage {
    let today = farmer.now.today;
    for r in &list.rows {
        draft = draft.or(&format!("by-{}", r.order.id), r.who.name.clone());
    }
    let mut sections: Vec<Section> = list.windows.iter().map(|w| section(farmer, list, w)).collect();
    let apart = |wanted: fn(&Row) -> bool| -> Vec<Line> {
        list.of(None).filter(|r| wanted(r)).map(|r| line(farmer, list, r)).collect()
    };
    let rest = [
        ("none", "Ready, no window chosen", apart(|r| r.pickup.ready.is_some() && r.collected_at().is_none())),
        ("came", "Collected without a window", apart(|r| r.collected_at().is_some())),
        ("not-ready", "Not ready yet", apart(|r| r.pickup.ready.is_none() && r.collected_at().is_none())),
    ];
    for (id, heading, lines) in rest {
        if !lines.is_empty() {
            let (place, taken, change) = (String::new(), String::new(), String::new());
            sections.push(Section { id: id.into(), heading: heading.into(), place, taken, change, lines });
        }
    }
    let n = list.rows.len();
    let count = |wanted: fn(&&Row) -> bool| list.rows.iter().filter(wanted).count();
    let ready = count(|r| r.pickup.ready.is_some());
    let collected = count(|r| r.collected_at().is_some());
    let chosen = count(|r| r.window().is_some());
    ListPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        id: list.date.id,
        date: Link::new(format!("/dates/{}", list.date.id), long(list.date.kill_on, today)),
        plant: list.plant.name.clone(),
        heading: match (n, collected) {
            (0, _) => "Nothing to collect".into(),
            (n, c) if n == c => "Everything is collected".into(),
            (n, 0) => format!("{} to collect", capital(&counted(n, "order", "orders"))),
            (n, c) => format!("{c} of {n} collected"),
        },
        lead: format!("{ready} of {n} ready, {chosen} with a window, {collected} collected."),
        windows: list
            .windows
            .iter()
            .map(|w| {
                let full = if w.left() > 0 { "" } else { " (full)" };
                let when = format!("{}, {}", near(w.window.on_day, today), hours(&w.window.opens, &w.window.closes));
                (w.window.id.to_string(), format!("{when}, {}{full}", w.place.name))
            })
            .collect(),
        to_say: n - ready,
        has_windows: !list.windows.is_empty(),
        sections,
    }
}

fn section(farmer: &Farmer, list: &List, w: &Window) -> Section {
    Section {
        id: format!("w{}", w.window.id),
        heading: capital(&format!(
            "{}, {}",
            long(w.window.on_day, farmer.now.today),
            hours(&w.window.opens, &w.window.closes)
        )),
        place: place_line(&w.place),
        taken: format!("{} of {} places taken", w.taken, w.window.most),
        change: format!("/windows/{}", w.window.id),
        lines: list.of(Some(w.window.id)).map(|r| line(farmer, list, r)).collect(),
    }
}

/// "$120.50 to pay"; helpers are told that, not how much.
pub(super) fn to_pay(farmer: &Farmer, balance: Money) -> String {
    if farmer.sees_money() { format!("{} to pay", balance.dollars()) } else { "Still to pay".into() }
}

fn line(farmer: &Farmer, list: &List, r: &Row) -> Line {
    let (id, today, zone) = (r.order.id, farmer.now.today, farmer.now.zone);
    let amount = r.amount(farmer.unit());
    let money = match r.owed() {
        None => Standing::todo("Not invoiced"),
        Some(b) if b.is_positive() => Standing::todo(to_pay(farmer, b)),
        Some(_) => Standing::done("Paid"),
    };
    let standing = match (&r.pickup.collected, r.collected_at(), &r.pickup.ready) {
        (by, Some(at), _) => {
            let local = at.utc().with_timezone(&zone);
            let who = by.as_ref().map_or(String::new(), |c| format!("{}, ", c.by_name));
            Standing::done(format!("{who}{}, {}", near(at.day(zone), today), hour(local.time())))
        }
        (_, None, Some(ready)) => Standing::wait(format!("Ready {}", near(ready.ready_on, today))),
        (_, None, None) => Standing::wait("Not ready"),
    };
    let share = words::share(&r.order, &r.offering);
    Line {
        order: id,
        name: r.who.name.clone(),
        phone: Some(&r.who.phone).filter(|p| !p.is_empty()).map(|p| Link::new(tel(p), p.clone())),
        about: [format!("{share}, order {}", r.order.number), amount]
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(" · "),
        is_held: r.is_held(&list.rule),
        money,
        standing,
        is_ready: r.pickup.ready.is_some(),
        is_collected: r.collected_at().is_some(),
        note: r.pickup.note.as_ref().map(|n| n.words.clone()).unwrap_or_default(),
        storage: r
            .storage
            .filter(|_| farmer.sees_money())
            .map(|s| format!("Storage {} to charge", s.dollars()))
            .unwrap_or_default(),
        has_window: r.window().is_some(),
        key: secret::form_key(&farmer.form_secret).unwrap_or_default(),
        by: format!("by-{id}"),
        anyway: format!("anyway-{id}"),
        at: format!("at-{id}"),
        select: format!("window-{id}"),
    }
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&list_page(&farmer, &app, *id, Draft::empty()).await?))
}

/// The list as a paper; `?window=` for one window alone.
pub(super) async fn paper(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<DateId>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let (id, farm, now) = (*id, farmer.farm.clone(), farmer.now);
    let window = query.get("window").and_then(|w| w.parse::<PickupWindowId>().ok());
    let pdf = app
        .read(move |c| {
            let list = pickup_list(c, &farm, now, id)?;
            pickup_list::paper(&list, &farm, now, window).pdf().map_err(|e| Failure::Unexpected(e.to_string()))
        })
        .await?;
    Ok(pdf_answer("pickup list.pdf", pdf))
}

/// `Saturday, October 30, 2027, 9:00 am to 1:00 pm`, for notices.
pub(super) fn said(w: &Window) -> String {
    window_words(&w.window)
}
