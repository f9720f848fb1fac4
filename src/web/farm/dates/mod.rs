//! Processing dates: the list, and the routes of a date's pages.

use crate::book::dates::{self, HeadOn};
use crate::book::ids::DateId;
use crate::book::rows::plants::{DateSlot, ProcessingDate, Processor};
use crate::trade::dates::{long, near};
use crate::trade::share::Species;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use serde::Deserialize;

mod came_home;
mod cancel;
mod form;
mod head;
mod hub;
mod packet;
mod plant;
mod plant_link;
mod requests;
pub mod rows;
mod shares;
mod sheets;
mod sides;
mod tell;
mod weigh_file;
mod weigh_file_look;
mod weigh_in;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/dates", web::get().to(list));
    cfg.route("/dates/new", web::get().to(form::new));
    cfg.route("/dates/new", web::post().to(form::add));
    cfg.route("/dates/{id}", web::get().to(hub::show));
    cfg.route("/dates/{id}/change", web::get().to(form::change));
    cfg.route("/dates/{id}/change", web::post().to(form::save));
    cfg.route("/dates/{id}/cancel", web::get().to(cancel::ask));
    cfg.route("/dates/{id}/cancel", web::post().to(cancel::do_it));
    cfg.route("/dates/{id}/tell", web::post().to(tell::tell));
    cfg.route("/dates/{id}/came-home", web::get().to(came_home::ask));
    cfg.route("/dates/{id}/came-home", web::post().to(came_home::save));
    cfg.route("/dates/{id}/head", web::get().to(head::ask));
    cfg.route("/dates/{id}/head", web::post().to(head::put));
    cfg.route("/dates/{id}/shares", web::get().to(shares::ask));
    cfg.route("/dates/{id}/shares", web::post().to(shares::save));
    cfg.route("/dates/{id}/packet", web::get().to(packet::ask));
    cfg.route("/dates/{id}/packet", web::post().to(packet::make));
    cfg.route("/dates/{id}/packet/send", web::post().to(packet::send));
    cfg.route("/dates/{id}/sheets", web::get().to(sheets::show));
    cfg.route("/dates/{id}/sheets", web::post().to(sheets::save));
    cfg.route("/dates/{id}/sheets/{order}/remind", web::post().to(sheets::remind));
    cfg.route("/dates/{id}/sheets/{order}/standard", web::post().to(sheets::standard));
    cfg.route("/animals/{id}/sides/{side}", web::get().to(sides::show));
    cfg.route("/animals/{id}/sides/{side}", web::post().to(sides::decide));
    cfg.route("/sheet-requests/{id}", web::get().to(requests::show));
    cfg.route("/sheet-requests/{id}/take", web::post().to(requests::take));
    cfg.route("/sheet-requests/{id}/refuse", web::post().to(requests::refuse));
    cfg.route("/packets/{id}.pdf", web::get().to(packet::paper));
    cfg.route("/dates/{id}/plant", web::get().to(plant::show));
    cfg.route("/dates/{id}/plant/take", web::post().to(plant::take_in));
    cfg.route("/dates/{id}/plant/link", web::get().to(plant_link::ask));
    cfg.route("/dates/{id}/plant/link/show", web::post().to(plant_link::reveal));
    cfg.route("/dates/{id}/plant/link/renew", web::post().to(plant_link::renew));
    cfg.route("/dates/{id}/plant/link/revoke", web::post().to(plant_link::revoke));
    cfg.route("/dates/{id}/plant/{entry}/refuse", web::post().to(plant::refuse_it));
    cfg.route("/dates/{id}/weigh-in", web::get().to(weigh_in::ask));
    cfg.route("/dates/{id}/weigh-in", web::post().to(weigh_in::save));
    cfg.route("/dates/{id}/weigh-in/file", web::get().to(weigh_file::ask));
    cfg.route("/dates/{id}/weigh-in/file", web::post().to(weigh_file::send));
    cfg.route("/dates/{id}/weigh-in/file/{file}", web::get().to(weigh_file::columns));
    cfg.route("/dates/{id}/weigh-in/file/{file}", web::post().to(weigh_file::choose));
    cfg.route("/dates/{id}/weigh-in/file/{file}/look", web::get().to(weigh_file_look::show));
    cfg.route("/dates/{id}/weigh-in/file/{file}/look", web::post().to(weigh_file_look::take));
}

/// How many dates a page of past ones holds.
const PAGE: usize = 25;

#[derive(Debug, Deserialize)]
struct Query {
    /// The last date of the page before: "2027-10-14-12".
    before: Option<String>,
}

struct Line {
    link: Link,
    plant: String,
    slots: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/dates/list.html")]
struct ListPage {
    frame: Frame,
    heading: String,
    coming: Vec<Line>,
    past: Vec<Line>,
    newer: Option<Link>,
    older: Option<Link>,
    no_plants: bool,
}

/// "3 of 3 beef, 2 of 4 hog": head on a date against its slots.
pub fn slot_words(date: DateId, slots: &[DateSlot], head: &[HeadOn]) -> Vec<String> {
    let on = |species| head.iter().filter(|h| h.date == date && h.species == species).count();
    let booked =
        |species| slots.iter().filter(|s| s.date_id == date && s.species == species).map(|s| s.head).sum::<i64>();
    Species::ALL
        .iter()
        .filter(|s| on(**s) > 0 || booked(**s) > 0)
        .map(|s| format!("{} of {} {}", on(*s), booked(*s), s.label()))
        .collect()
}

fn line(row: &(ProcessingDate, Processor), slots: &[DateSlot], head: &[HeadOn], today: NaiveDate) -> Line {
    let (date, plant) = row;
    let own: Vec<_> = head.iter().filter(|h| h.date == date.id).collect();
    let weighed = own.iter().filter(|h| h.weighed).count();
    let free: i64 = own.iter().map(|h| h.free_quarters).sum();
    let standing = if date.cancelled_at.is_some() {
        Standing::wait("Cancelled")
    } else if own.is_empty() {
        if date.kill_on < today { Standing::wait("No head") } else { Standing::todo("No head yet") }
    } else if weighed == own.len() {
        Standing::done("Weighed in")
    } else if date.kill_on < today {
        let days = today.signed_duration_since(date.kill_on).num_days();
        Standing::late(format!("Weights missing, {days} {}", if days == 1 { "day" } else { "days" }))
    } else if date.kill_on == today {
        Standing::todo("Weigh-in today")
    } else if free > 0 {
        Standing::todo(if free == 1 { "1 quarter free".to_string() } else { format!("{free} quarters free") })
    } else {
        Standing::done("All sold")
    };
    Line {
        link: Link::new(format!("/dates/{}", date.id), near(date.kill_on, today)),
        plant: plant.name.clone(),
        slots: slot_words(date.id, slots, head).join(", "),
        standing,
    }
}

async fn list(farmer: Farmer, app: web::Data<App>, query: web::Query<Query>) -> Answer {
    let today = farmer.now.today;
    let before = query.before.as_deref().and_then(|text| {
        let (day, id) = text.rsplit_once('-')?;
        Some((day.parse().ok()?, id.parse().ok()?))
    });
    let (coming, mut past, slots, head, no_plants) = app
        .read(move |c| {
            let coming = dates::coming(c, today)?;
            let past = dates::past(c, today, before, i64::try_from(PAGE + 1).unwrap_or(26))?;
            let ids: Vec<_> = coming.iter().chain(&past).map(|(d, _)| d.id).collect();
            let no_plants = crate::book::plants::list(c, false)?.is_empty();
            Ok((coming, past, dates::slots(c, &ids)?, dates::head_on(c, &ids)?, no_plants))
        })
        .await?;
    let more = past.len() > PAGE;
    past.truncate(PAGE);
    let older = past
        .last()
        .filter(|_| more)
        .map(|(d, _)| Link::new(format!("/dates?before={}-{}#past", d.kill_on, d.id), "Older"));
    let heading = match coming.first() {
        None => "No date is booked".to_string(),
        Some((next, _)) if coming.len() == 1 => format!("One date, {}", long(next.kill_on, today)),
        Some((next, _)) => format!("{} dates, next {}", count(coming.len()), long(next.kill_on, today)),
    };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Dates),
        heading,
        coming: coming.iter().map(|row| line(row, &slots, &head, today)).collect(),
        past: past.iter().map(|row| line(row, &slots, &head, today)).collect(),
        newer: before.map(|_| Link::new("/dates#past", "Newest")),
        older,
        no_plants,
    }))
}
