//! A pickup window of a date: added, changed, called off.

use super::list::said;
use crate::actions::Failure;
use crate::actions::pickup_window::{self, WindowIn, add_window, change_window};
use crate::book::ids::{DateId, PickupPlaceId, PickupWindowId};
use crate::book::pickup_places::{self, Window};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{dates, pickups};
use crate::trade::dates::{hour, long};
use crate::trade::pickup::read_time;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/pickup/window.html")]
struct WindowPage {
    frame: Frame,
    draft: Draft,
    date: DateId,
    day: Link,
    heading: String,
    action: String,
    places: Choices,
    /// Of a window that is there: where it is called off, and who is told.
    call_off: Option<(String, String, i64)>,
}

struct Seen {
    date: ProcessingDate,
    plant: Processor,
    places: Choices,
    last: Option<Window>,
    window: Option<Window>,
    comes: usize,
}

async fn seen(app: &App, date: Option<DateId>, window: Option<PickupWindowId>) -> Result<Seen, Failure> {
    app.read(move |c| {
        let window = match window {
            Some(id) => Some(pickup_places::window(c, id)?),
            None => None,
        };
        let id = window.as_ref().map(|w| w.window.date_id).or(date).ok_or(Failure::NotFound)?;
        let (date, plant) = dates::get(c, id)?;
        let mine = window.as_ref().map(|w| w.place.id);
        let places = pickup_places::places(c)?;
        let places = places.into_iter().filter(|p| p.retired_at.is_none() || Some(p.id) == mine);
        let comes = match &window {
            Some(w) => pickups::who_comes(c, w.window.id)?.len(),
            None => 0,
        };
        Ok(Seen {
            places: places.map(|p| (p.id.to_string(), p.name)).collect(),
            last: pickup_places::windows(c, id)?.pop(),
            date,
            plant,
            window,
            comes,
        })
    })
    .await
}

fn stored(w: &Window) -> Draft {
    Draft::empty()
        .with("version", w.window.version.to_string())
        .with("place", w.place.id.to_string())
        .with("on_day", w.window.on_day.to_string())
        .with("opens", clock(&w.window.opens))
        .with("closes", clock(&w.window.closes))
        .with("most", w.window.most.to_string())
}

/// A time of day as people write it: `4:30 pm`.
fn clock(text: &str) -> String {
    read_time(text).map_or_else(|| text.to_string(), hour)
}

fn made(farmer: &Farmer, seen: &Seen, draft: Option<Draft>) -> WindowPage {
    let id = seen.date.id;
    let fresh = || {
        let start = Draft::empty().with("version", "0");
        match &seen.last {
            Some(w) => start
                .with("place", w.place.id.to_string())
                .with("opens", clock(&w.window.opens))
                .with("closes", clock(&w.window.closes))
                .with("most", w.window.most.to_string()),
            None => start.with_some("on_day", seen.date.pickup_from.map(|d| d.to_string())),
        }
    };
    WindowPage {
        frame: farmer.frame(Tab::Dates),
        draft: draft.unwrap_or_else(|| seen.window.as_ref().map_or_else(fresh, stored)),
        date: id,
        day: Link::new(format!("/dates/{id}"), long(seen.date.kill_on, farmer.now.today)),
        heading: seen
            .window
            .as_ref()
            .map_or_else(|| format!("When can meat from {} be collected?", seen.plant.name), |w| capital(&said(w))),
        action: seen
            .window
            .as_ref()
            .map_or_else(|| format!("/dates/{id}/windows/new"), |w| format!("/windows/{}", w.window.id)),
        places: seen.places.clone(),
        call_off: seen.window.as_ref().map(|w| {
            let who = match seen.comes {
                0 => "Nobody chose it.".to_string(),
                n => format!(
                    "{} told and asked to choose another one.",
                    capital(&counted(n, "customer is", "customers are"))
                ),
            };
            (format!("/windows/{}/call-off", w.window.id), who, w.window.version)
        }),
    }
}

fn read(form: &mut FormIn) -> Result<(i64, WindowIn), Draft> {
    let mut time = |name: &str, label: &str| {
        let time = form.optional_time(name, label)?;
        if time.is_empty() {
            form.problem(name, format!("{label} is empty. Write a time, such as 9:00 am."));
            return None;
        }
        Some(time)
    };
    let (opens, closes) = (time("opens", "From"), time("closes", "Until"));
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.id("place", "Place"),
        form.date("on_day", "Day"),
        opens,
        closes,
        form.whole_number("most", "Customers", 1..=1000),
    );
    let (version, place, on_day, opens, closes, most) = form.finish(parts)?;
    Ok((version, WindowIn { place: PickupPlaceId(place), on_day, opens, closes, most }))
}

pub(super) async fn new(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let seen = seen(&app, Some(*id), None).await?;
    Ok(page(&made(&farmer, &seen, None)))
}

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let found = seen(&app, Some(id), None).await?;
    let input = match read(&mut form) {
        Ok((_, input)) => input,
        Err(draft) => return Ok(refused(&made(&farmer, &found, Some(draft)))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        add_window(tx, doing, id, &input)?;
        Ok(format!("/dates/{id}/pickup"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The window is there. Customers whose meat is ready can choose it."))
        }
        Err(f) => Ok(refused(&made(&farmer, &found, Some(refusal(&form, f)?)))),
    }
}

pub(super) async fn open(farmer: Farmer, app: web::Data<App>, id: web::Path<PickupWindowId>) -> Answer {
    let seen = seen(&app, None, Some(*id)).await?;
    Ok(page(&made(&farmer, &seen, None)))
}

const LABELS: &[(&str, &str)] =
    &[("place", "Place"), ("on_day", "Day"), ("opens", "From"), ("closes", "Until"), ("most", "Customers")];

pub(super) async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<PickupWindowId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let found = seen(&app, None, Some(id)).await?;
    let date = found.date.id;
    let (version, input) = match read(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&made(&farmer, &found, Some(draft)))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_window(tx, doing, id, version, &input)?;
        Ok(format!("/dates/{date}/pickup"))
    });
    let draft = match done.await {
        Ok(url) => {
            return Ok(notice::with(
                see_other(&url),
                "Saved. Whoever chose it is told when day, hours or place changed.",
            ));
        }
        Err(Failure::Stale) => {
            let stored = found.window.as_ref().map(stored).unwrap_or_else(Draft::empty);
            form.into_draft().stale(&stored, LABELS, &format!("/dates/{date}/pickup"))
        }
        Err(f) => refusal(&form, f)?,
    };
    Ok(refused(&made(&farmer, &found, Some(draft))))
}

pub(super) async fn call_off(farmer: Farmer, app: web::Data<App>, id: web::Path<PickupWindowId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let found = seen(&app, None, Some(id)).await?;
    let date = found.date.id;
    let version = match form.whole_number("version", "Version", 0..=i64::MAX) {
        Some(version) => version,
        None => return Ok(refused(&made(&farmer, &found, Some(form.into_draft())))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        pickup_window::call_off(tx, doing, id, version)?;
        Ok(format!("/dates/{date}/pickup"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The window is called off, and whoever chose it is told.")),
        Err(f) => {
            let draft = refusal(&form, f)?.headed("The window was not called off");
            let mut shown = made(&farmer, &found, None);
            for p in draft.problems() {
                shown.draft = shown.draft.problem("", p.says.clone());
            }
            Ok(refused(&shown))
        }
    }
}
