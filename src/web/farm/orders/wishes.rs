//! Wishes of an order: in words, and what it asks of the planner.

use super::asked;
use crate::actions::Failure;
use crate::actions::ask_place::ask_place;
use crate::actions::change_order::change_wishes;
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::rows::selling::Reservation;
use crate::book::wishes::{self, Wishes};
use crate::book::{dates as dates_book, reservations};
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

#[derive(Template)]
#[template(path = "farm/orders/wishes.html")]
struct WishesPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    dates: Choices,
    groups: String,
    unit: &'static str,
}

/// The dates to come, as choices; with those `chosen` before that are past or cancelled, so that saving does not lose them.
///
/// # Errors
/// The database's own.
pub(super) fn coming(
    c: &mut DbConn,
    today: NaiveDate,
    chosen: &[crate::book::ids::DateId],
) -> Result<Choices, Failure> {
    let coming = dates_book::coming(c, today)?;
    let mut days: Choices = coming
        .into_iter()
        .map(|(d, plant)| (d.id.to_string(), format!("{}, {}", dates::long(d.kill_on, today), plant.name)))
        .collect();
    for chosen in chosen {
        if !days.iter().any(|(d, _)| *d == chosen.to_string()) {
            let (d, plant) = dates_book::get(c, *chosen)?;
            let why = if d.cancelled_at.is_some() { "cancelled" } else { "past" };
            days.push((d.id.to_string(), format!("{}, {} ({why})", dates::long(d.kill_on, today), plant.name)));
        }
    }
    Ok(days)
}

/// What the hint of the group's field says.
///
/// # Errors
/// The database's own.
pub(super) fn groups_hint(c: &mut DbConn) -> Result<String, Failure> {
    let known: Vec<String> = wishes::groups(c)?.into_iter().take(8).map(|(name, _)| format!("“{name}”")).collect();
    let first = "A name of your own, the same on each order that wants to be on one animal or one date.";
    Ok(if known.is_empty() {
        format!("{first} Such as “Wren family”.")
    } else {
        format!("{first} There is {}.", known.join(", "))
    })
}

fn stored(r: &Reservation, asked: &Wishes) -> Draft {
    let draft = Draft::empty().with("version", r.version.to_string()).with("wishes", r.wishes.clone());
    asked::stored(draft, r, asked)
}

async fn wishes_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    draft: Option<Draft>,
) -> Result<WishesPage, PageError> {
    let today = farmer.now.today;
    let (r, asked, dates, groups) = app
        .read(move |c| {
            let (r, ..) = reservations::get(c, id)?;
            let asked = wishes::of(c, &[id])?.remove(&id).unwrap_or_default();
            let days = coming(c, today, &asked.dates(r.preferred_date_id))?;
            Ok((r, asked, days, groups_hint(c)?))
        })
        .await?;
    Ok(WishesPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or_else(|| stored(&r, &asked)),
        id,
        number: r.number,
        dates,
        groups,
        unit: farmer.unit(),
    })
}

/// Wishes in words, dates, company and weight.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&wishes_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Saves them.
///
/// # Errors
/// 404 when there is no such order.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_lines("wishes", "Wishes", 1000),
        asked::read(&mut form),
    );
    let (version, wishes, (first, asked)) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&wishes_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_wishes(tx, doing, id, version, &wishes, first)?;
        ask_place(tx, doing, id, &asked)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let (r, asked) = app
                .read(move |c| {
                    let (r, ..) = reservations::get(c, id)?;
                    Ok((r, wishes::of(c, &[id])?.remove(&id).unwrap_or_default()))
                })
                .await?;
            let labels: Vec<_> = [("wishes", "Wishes")].into_iter().chain(asked::LABELS.iter().copied()).collect();
            let draft = form.into_draft().stale(&stored(&r, &asked), &labels, &format!("/orders/{id}"));
            Ok(refused(&wishes_page(&farmer, &app, id, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&wishes_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
