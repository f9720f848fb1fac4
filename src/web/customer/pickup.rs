//! Choosing when to collect one's meat, or saying that no window fits.

use super::frame::CustomerFrame;
use super::holder::Holder;
use super::mine::{Mine, mine};
use crate::actions::Failure;
use crate::actions::choose_pickup::{self, Chooser, LONGEST_NOTE, none_fits};
use crate::actions::pickup_event;
use crate::actions::pickup_words::{begins_at, is_open, place_line, storage_words, window_words};
use crate::book::ids::PickupWindowId;
use crate::book::pickup_places::{self, Window};
use crate::book::pickups;
use crate::post::pickup::FOOD_SAFETY_NOTE;
use crate::trade::dates::long;
use crate::trade::pickup::hours;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farm::settings::calendar::calendar_answer;
use crate::web::look::capital;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// A window one can choose.
struct Pick {
    id: String,
    title: String,
    place: String,
    left: String,
}

#[derive(Template)]
#[template(path = "customer/pickup.html")]
struct PickupPage {
    frame: CustomerFrame,
    draft: Draft,
    heading: String,
    lead: String,
    /// What the chosen place says about itself.
    place_words: String,
    picks: Vec<Pick>,
    /// Windows that have no room, in words.
    full: Vec<String>,
    may_change: bool,
    too_near: String,
    money: String,
    storage: String,
    note: String,
    is_ready: bool,
    has_window: bool,
    food: &'static str,
    phone: String,
}

struct Seen {
    mine: Mine,
    windows: Vec<Window>,
}

async fn seen(holder: &Holder, app: &App) -> Result<Seen, Failure> {
    let (id, now, farm) = (holder.order, holder.now, holder.farm.clone());
    app.read(move |c| {
        let mine = mine(c, &farm, now, id)?;
        let windows = match mine.facts.date {
            Some((date, _)) => pickup_places::windows(c, date)?,
            None => Vec::new(),
        };
        Ok(Seen { mine, windows })
    })
    .await
}

fn made(holder: &Holder, seen: &Seen, draft: Draft) -> PickupPage {
    let (m, now) = (&seen.mine, holder.now);
    let today = now.today;
    let share = words::share(&m.order.0, &m.order.2).to_lowercase();
    let chosen = m.pickup.window.as_ref();
    let mine = chosen.map(|(w, _)| w.id);
    let is_ready = m.pickup.ready.is_some() && m.order.0.collected_at.is_none();
    let may_change = is_ready && chosen.is_none_or(|(w, _)| is_open(w, &m.rule, now));
    let open = |w: &&Window| Some(w.window.id) == mine || (w.left() > 0 && is_open(&w.window, &m.rule, now));
    let when = |w: &Window| {
        capital(&format!("{}, {}", long(w.window.on_day, today), hours(&w.window.opens, &w.window.closes)))
    };
    let picks = seen.windows.iter().filter(open).map(|w| Pick {
        id: w.window.id.to_string(),
        title: when(w),
        place: match w.place.words.trim() {
            "" => place_line(&w.place),
            words => format!("{}. {words}", place_line(&w.place)),
        },
        left: match (Some(w.window.id) == mine, w.left()) {
            (true, _) => "Yours now".into(),
            (false, n) => capital(&format!("{} left", counted(usize::try_from(n).unwrap_or(0), "place", "places"))),
        },
    });
    let full = seen
        .windows
        .iter()
        .filter(|w| Some(w.window.id) != mine && w.left() <= 0 && begins_at(&w.window, now) > now.at)
        .map(|w| format!("{}, {}: full", when(w), w.place.name));
    let (heading, lead) = match (&m.pickup.ready, m.order.0.collected_at, chosen) {
        (_, Some(_), _) => (format!("You have your {share}"), "It was collected.".to_string()),
        (None, ..) => (
            format!("Your {share} is not ready yet"),
            "We write to you as soon as it is. Then you choose here when to collect it.".to_string(),
        ),
        (Some(_), None, Some((w, place))) => (
            format!("You collect it on {}", long(w.on_day, today)),
            format!("{}, at {}.", window_words(w), place_line(place)),
        ),
        (Some(ready), None, None) => (
            format!("When do you collect your {share}?"),
            match ready.boxes {
                Some(n) => format!("It is ready, in {}.", counted(usize::try_from(n).unwrap_or(0), "box", "boxes")),
                None => "It is ready.".to_string(),
            },
        ),
    };
    let owed = m.facts.balance();
    PickupPage {
        frame: holder.frame(),
        draft: draft.or("window", mine.map(|id| id.to_string()).unwrap_or_default()),
        heading,
        lead,
        place_words: chosen.map(|(_, p)| p.words.clone()).unwrap_or_default(),
        picks: picks.collect(),
        full: full.collect(),
        may_change,
        too_near: match m.rule.hours_before {
            0 => String::new(),
            1 => "A window can be chosen or changed here until an hour before it. After that, call us.".into(),
            n => format!("A window can be chosen or changed here until {n} hours before it. After that, call us."),
        },
        money: match owed {
            Some(b) if b.is_positive() => format!("{} is still to be paid. {}", b.dollars(), m.rule.hold_words()),
            Some(_) => "It is paid.".into(),
            None => m.rule.hold_words().into(),
        },
        storage: storage_words(m.pickup.ready.as_ref(), &m.rule),
        note: m.pickup.note.as_ref().map(|n| n.words.clone()).unwrap_or_default(),
        is_ready,
        has_window: chosen.is_some() && is_ready,
        food: FOOD_SAFETY_NOTE,
        phone: holder.farm.phone.clone(),
    }
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let seen = seen(&holder, &app).await?;
    Ok(page(&made(&holder, &seen, Draft::empty())))
}

async fn again(holder: &Holder, app: &App, draft: Draft) -> Answer {
    let seen = seen(holder, app).await?;
    Ok(refused(&made(holder, &seen, draft)))
}

/// Chooses a window.
///
/// # Errors
/// When the book cannot be written.
pub async fn choose(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let Some(window) = form.id("window", "Time") else { return again(&holder, &app, form.into_draft()).await };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        choose_pickup::choose(tx, doing, order, PickupWindowId(window), Chooser::Customer)?;
        Ok("/my/pickup".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you, we expect you then.")),
        Err(f) => again(&holder, &app, refusal(&form, f)?.headed("No time was chosen")).await,
    }
}

/// Says that none fits.
///
/// # Errors
/// When the book cannot be written.
pub async fn none(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let Some(words) = form.lines("words", "When you could come", LONGEST_NOTE) else {
        return again(&holder, &app, form.into_draft()).await;
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        none_fits(tx, doing, order, &words)?;
        Ok("/my/pickup".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you, we have your note and answer you.")),
        Err(f) => again(&holder, &app, refusal(&form, f)?).await,
    }
}

/// The event of the window one has, for a calendar.
///
/// # Errors
/// 404 when there is no window.
pub async fn calendar(holder: Holder, app: web::Data<App>) -> Answer {
    let (id, now) = (holder.order, holder.now);
    let file = app
        .read(move |c| {
            let p = pickups::of_orders(c, &[id])?.remove(&id).unwrap_or_default();
            pickup_event::event(c, now, id, &p)
        })
        .await?;
    let body = file.ok_or(Failure::NotFound)?;
    Ok(calendar_answer("pickup.ics", body))
}
