//! The farm's calendar feed: its page in Settings, and the feed itself under its secret address.

use crate::actions::Failure;
use crate::actions::calendar_feed::{begin, feed, stop};
use crate::book::calendars;
use crate::secret;
use crate::trade::dates::long;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Characters of a token; see [`secret::token`].
const TOKEN: usize = 32;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/calendar", web::get().to(show));
    cfg.route("/settings/calendar", web::post().to(make));
    cfg.route("/settings/calendar/stop", web::post().to(end));
    cfg.route("/calendar/{token}.ics", web::get().to(serve));
}

#[derive(Template)]
#[template(path = "farm/calendar.html")]
struct CalendarPage {
    frame: Frame,
    since: String,
    /// The address, on the one page that shows it.
    url: String,
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let stands = app.read(|c| Ok(calendars::feed(c)?)).await?;
    let since = stands.map(|f| long(f.made_at.day(farmer.now.zone), farmer.now.today)).unwrap_or_default();
    Ok(page(&CalendarPage { frame: farmer.frame(Tab::Settings), since, url: String::new() }))
}

/// Makes an address and shows it this once; an earlier one works no more.
async fn make(farmer: Farmer, app: web::Data<App>, req: HttpRequest, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    let token = secret::token().map_err(Failure::Unexpected)?;
    let fresh = Arc::new(AtomicBool::new(false));
    let (made, mine) = (fresh.clone(), token.clone());
    let done = app.act(&farmer, &key, move |tx, doing| {
        begin(tx, doing, &mine)?;
        made.store(true, Ordering::SeqCst);
        Ok("/settings/calendar".to_string())
    });
    let back = done.await?;
    if !fresh.load(Ordering::SeqCst) {
        let says = "That address was shown already and cannot be shown again. Make another one.";
        return Ok(notice::with(see_other(&back), says));
    }
    let url = format!("{}/calendar/{token}.ics", app.base(&req));
    let since = long(farmer.now.today, farmer.now.today);
    Ok(page(&CalendarPage { frame: farmer.frame(Tab::Settings), since, url }))
}

async fn end(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        stop(tx, doing)?;
        Ok("/settings/calendar".to_string())
    });
    Ok(notice::with(see_other(&done.await?), "The feed is ended. Calendars that had its address get nothing any more."))
}

/// A calendar file with its name.
pub fn calendar_answer(name: &str, body: String) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/calendar; charset=utf-8")
        .insert_header(("content-disposition", format!("attachment; filename=\"{name}\"")))
        .body(body)
}

/// The feed. Only addresses that open nothing are counted.
async fn serve(app: web::Data<App>, req: HttpRequest, token: web::Path<String>) -> Answer {
    let (token, at) = (token.into_inner(), app.clock.at());
    let found = if token.len() == TOKEN { app.read(move |c| feed(c, at, &token)).await? } else { None };
    match found {
        Some(body) => Ok(calendar_answer("farm.ics", body)),
        None if !app.may_try(&format!("calendar from {}", app.visitor(&req))) => Err(PageError::Slow),
        None => Err(Failure::NotFound.into()),
    }
}
