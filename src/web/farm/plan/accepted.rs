//! A plan that was taken: what moved, who may be told, what the cut sheets say, and taking it back.

use super::rows::spot_words;
use crate::actions::Failure;
use crate::actions::place_share::target_of;
use crate::actions::propose_plan::cautions;
use crate::actions::tell_moves::{in_words, is_to_tell, tell_moves};
use crate::actions::undo_plan::{in_the_way, kept, undo_plan};
use crate::book::acceptances::{self, Moved, Named};
use crate::book::ids::{AcceptanceId, CustomerId};
use crate::book::planning::situation;
use crate::book::rows::plan::PlanAcceptance;
use crate::trade::dates::{long, short};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::heads::share_words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

/// One share that moved.
struct Row {
    order: Link,
    share: String,
    from: String,
    to: String,
    standing: Standing,
}

/// One customer who may be told.
struct ToTell {
    id: CustomerId,
    name: String,
    lines: Vec<String>,
    ticked: bool,
}

#[derive(Template)]
#[template(path = "farm/plan/accepted.html")]
struct AcceptedPage {
    frame: Frame,
    draft: Draft,
    id: AcceptanceId,
    heading: String,
    lead: String,
    rows: Vec<Row>,
    tell: Vec<ToTell>,
    told: usize,
    sheets: Vec<(Link, String)>,
    /// What keeps it from being taken back; empty when nothing does.
    in_the_way: Vec<String>,
    is_undo: bool,
    undone: Option<AcceptanceId>,
}

async fn asked(farmer: &Farmer, app: &App, id: AcceptanceId, draft: Draft) -> Result<AcceptedPage, PageError> {
    let (today, unit, zone) = (farmer.now.today, farmer.farm.unit, farmer.now.zone);
    let (it, undone, moves, named, way, stands) = app
        .read(move |c| {
            let (it, undone) = acceptances::get(c, id)?;
            let moves = acceptances::moves(c, id)?;
            let named = acceptances::named(c, &moves)?;
            Ok((it, undone, moves, named, in_the_way(c, today, id)?, situation(c, today, None)?))
        })
        .await?;
    let mut sheets = Vec::new();
    for m in moves.iter().filter(|_| undone.is_none()) {
        let Some(wanted) = stands.orders.iter().find(|w| w.reservation.id == m.reservation.id) else { continue };
        for says in cautions(&stands, wanted, wanted.share.as_ref().map(target_of), unit) {
            sheets.push((Link::new(format!("/orders/{}/cut-sheet", m.reservation.id), m.name.clone()), says));
        }
    }
    Ok(AcceptedPage {
        frame: farmer.frame(Tab::Animals),
        id,
        heading: heading(&it, moves.len()),
        lead: lead(&it, undone, it.accepted_at.day(zone), today),
        tell: if undone.is_some() { Vec::new() } else { to_tell(&named, &moves, &draft) },
        told: moves.iter().filter(|m| it.undoes.is_none() && m.moved.told_at.is_some()).count(),
        rows: moves.iter().map(|m| row(&named, m, today)).collect(),
        sheets,
        in_the_way: way,
        is_undo: it.undoes.is_some(),
        undone,
        draft,
    })
}

fn heading(it: &PlanAcceptance, n: usize) -> String {
    let shares = capital(&counted(n, "share has", "shares have"));
    match it.undoes {
        None => format!("{shares} a new place"),
        Some(_) => format!("{shares} the old place again"),
    }
}

fn lead(it: &PlanAcceptance, undone: Option<AcceptanceId>, day: NaiveDate, today: NaiveDate) -> String {
    let (who, day) = (&it.accepted_by, long(day, today));
    match (it.undoes, undone) {
        (Some(_), _) => format!("{who} took the plan back on {day}."),
        (None, Some(_)) => format!("{who} took this plan on {day}; it was taken back since."),
        (None, None) => format!("{who} took this plan on {day}. Customers hear of it only when you write to them."),
    }
}

fn row(named: &Named, m: &Moved, today: NaiveDate) -> Row {
    let place = |target: Option<crate::actions::place_share::Target>, date: Option<crate::book::ids::DateId>| {
        let Some(t) = target else { return "No place".to_string() };
        let Some(animal) = named.head.get(&t.animal) else { return String::new() };
        let day = date.and_then(|d| named.dates.get(&d)).map(|(d, _)| format!(" ({})", short(d.kill_on, today)));
        format!("{}{}", spot_words(animal, t.spot), day.unwrap_or_default())
    };
    Row {
        order: Link::new(format!("/orders/{}", m.reservation.id), m.name.clone()),
        share: format!(
            "{} {}, {}",
            share_words(m.reservation.size, m.reservation.part),
            m.species.label(),
            m.reservation.number
        ),
        from: place(kept(m.moved.from_animal_id, m.moved.from_sides), m.moved.from_date_id),
        to: place(kept(m.moved.to_animal_id, m.moved.to_sides), m.moved.to_date_id),
        standing: match m.moved.told_at {
            _ if m.moved.to_animal_id.is_none() => Standing::late("No place"),
            Some(_) => Standing::done("Written to"),
            None => Standing::wait("Not told"),
        },
    }
}

fn to_tell(named: &Named, moves: &[Moved], draft: &Draft) -> Vec<ToTell> {
    let mut found: Vec<ToTell> = Vec::new();
    for m in moves.iter().filter(|m| is_to_tell(m)) {
        let says = in_words(named, m);
        match found.iter_mut().find(|t| t.id == m.customer) {
            Some(known) => known.lines.push(says),
            None => {
                let ticked = !draft.is_refused() || draft.checked("to", m.customer.to_string());
                found.push(ToTell { id: m.customer, name: m.name.clone(), lines: vec![says], ticked });
            }
        }
    }
    found
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<AcceptanceId>) -> Answer {
    Ok(page(&asked(&farmer, &app, *id, Draft::empty()).await?))
}

/// Writes to the ticked customers.
pub(super) async fn tell(farmer: Farmer, app: web::Data<App>, id: web::Path<AcceptanceId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let Some(to) = form.ids("to", "Customers") else {
        return Ok(refused(&asked(&farmer, &app, id, form.into_draft()).await?));
    };
    let to: Vec<_> = to.into_iter().map(CustomerId).collect();
    let n = to.len();
    let done = app.act(&farmer, &key, move |tx, doing| {
        tell_moves(tx, doing, id, &to)?;
        Ok(format!("/plan/accepted/{id}"))
    });
    match done.await {
        Ok(url) => {
            let says = format!("{} in the Outbox.", capital(&counted(n, "message is", "messages are")));
            Ok(notice::with(see_other(&url), &says))
        }
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// Takes it back.
pub(super) async fn undo(farmer: Farmer, app: web::Data<App>, id: web::Path<AcceptanceId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        let undo = undo_plan(tx, doing, id)?;
        Ok(format!("/plan/accepted/{undo}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Every share is where it was.")),
        Err(Failure::NotFound) => Err(Failure::NotFound.into()),
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
