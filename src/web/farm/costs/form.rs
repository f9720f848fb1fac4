//! Entering a cost and correcting it: what for, how much, and which animals.

use super::list::heading;
use crate::actions::Failure;
use crate::actions::enter_cost::{CostIn, change_cost, enter_cost};
use crate::book::conn::DbConn;
use crate::book::costs::{self, Lot};
use crate::book::ids::{AnimalId, CostId, DateId};
use crate::book::{animals, dates};
use crate::trade::costs::{CostKind, SharedBy};
use crate::trade::dates::near;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::NaiveDate;
use std::collections::BTreeMap;

const LABELS: &[(&str, &str)] = &[
    ("kind", "What for"),
    ("amount", "How much"),
    ("on_day", "Day"),
    ("words", "Words"),
    ("shared_by", "Shared"),
    ("names", "Animals"),
];

#[derive(Template)]
#[template(path = "farm/costs/form.html")]
struct FormPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    /// The cost that is corrected.
    id: Option<CostId>,
    kinds: Choices,
    ways: Choices,
    /// Whose animals the list shows: those alive, or those of a date.
    which: Choices,
    animals: Choices,
    back: String,
}

/// What the form can choose from.
struct Offered {
    dates: Choices,
    animals: Choices,
}

fn offered(c: &mut DbConn, today: NaiveDate, which: &str, ticked: &[AnimalId]) -> Result<Offered, Failure> {
    let coming = dates::coming(c, today)?;
    let past = dates::past(c, today, None, 20)?;
    let all = coming.into_iter().chain(past.into_iter().filter(|(d, _)| d.cancelled_at.is_none()));
    let dates = all.map(|(d, p)| (d.id.to_string(), format!("of {}, {}", near(d.kill_on, today), p.name)));
    let dates = std::iter::once(("alive".to_string(), "that are alive".to_string())).chain(dates).collect();
    let mut head: BTreeMap<AnimalId, String> = BTreeMap::new();
    match which.parse::<DateId>() {
        Ok(date) => head.extend(animals::on_date(c, date)?.into_iter().map(|a| (a.id, a.name()))),
        Err(_) => head.extend(animals::alive(c, None)?.into_iter().map(|(a, day)| {
            let on = day.map(|d| format!(", on {}", near(d, today))).unwrap_or_default();
            (a.id, format!("{}{on}", a.name()))
        })),
    }
    for animal in animals::many(c, ticked)? {
        head.entry(animal.id).or_insert_with(|| animal.name());
    }
    Ok(Offered { dates, animals: head.into_iter().map(|(id, name)| (id.to_string(), name)).collect() })
}

async fn form_page(farmer: &Farmer, app: &App, draft: Draft, of: Option<&Lot>) -> Result<FormPage, PageError> {
    let today = farmer.now.today;
    let which = draft.val("which").to_string();
    let ticked: Vec<AnimalId> = draft.all("animals").filter_map(|id| id.parse().ok()).take(400).collect();
    let offered = app.read(move |c| offered(c, today, &which, &ticked)).await?;
    Ok(FormPage {
        frame: farmer.frame(Tab::Money),
        draft,
        heading: of.map_or("Enter a cost".into(), |lot| format!("Change: {}", heading(lot))),
        id: of.map(|lot| lot.cost.id),
        kinds: CostKind::ALL.iter().map(|k| (k.as_str().to_string(), capital(k.label()))).collect(),
        ways: choices(SharedBy::ALL, SharedBy::as_str, SharedBy::label),
        which: offered.dates,
        animals: offered.animals,
        back: of.map_or("/costs".into(), |lot| format!("/costs/{}", lot.cost.id)),
    })
}

fn read(form: &mut FormIn) -> Result<CostIn, Draft> {
    let parts = (
        form.word("kind", "What for"),
        form.positive_money("amount", "Amount"),
        form.date("on_day", "Day"),
        form.optional_text("words", "Words", 200),
        form.word("shared_by", "How it is shared"),
        form.ids("animals", "Animals"),
    );
    let (kind, amount, on, words, by, head) = form.finish(parts)?;
    Ok(CostIn { kind, on, words, amount, by, animals: head.into_iter().map(AnimalId).collect() })
}

fn draft_of(lot: &Lot) -> Draft {
    let cost = &lot.cost;
    let draft = Draft::empty()
        .with("kind", cost.kind.as_str())
        .with("amount", cost.amount.plain())
        .with("on_day", cost.on_day.to_string())
        .with("words", cost.words.clone())
        .with("shared_by", cost.shared_by.as_str())
        .with("version", cost.version.to_string());
    lot.heads.iter().fold(draft, |draft, head| draft.with("animals", head.animal.to_string()))
}

/// The form; `?animals=1&animals=2` ticks those, `?which=3` shows the animals of a date, `?date=3` ticks them all.
///
/// # Errors
/// When the book cannot be read.
pub(super) async fn new(farmer: Farmer, app: web::Data<App>, req: HttpRequest) -> Answer {
    let asked = FormIn::parse(req.query_string().as_bytes()).map_err(PageError::BadRequest)?;
    let mut draft = Draft::empty()
        .with("on_day", farmer.now.today.to_string())
        .with("shared_by", SharedBy::Head.as_str())
        .with("which", asked.line("which"));
    for (name, _) in LABELS.iter().filter(|(name, _)| !matches!(*name, "names" | "on_day" | "shared_by")) {
        draft = draft.with_some(*name, Some(asked.line(name)).filter(|v| !v.is_empty()));
    }
    let mut head: Vec<AnimalId> = asked.all("animals").iter().filter_map(|id| id.parse().ok()).take(400).collect();
    if let Ok(date) = asked.line("date").parse::<DateId>() {
        let on = app.read(move |c| Ok(animals::on_date(c, date)?)).await?;
        head.extend(on.into_iter().filter(|a| a.lost_on.is_none()).map(|a| a.id));
        draft = draft.without("which").with("which", date.to_string());
    }
    let draft = head.into_iter().fold(draft, |draft, id| draft.with("animals", id.to_string()));
    Ok(page(&form_page(&farmer, &app, draft, None).await?))
}

/// Enters the cost.
///
/// # Errors
/// When the book cannot be written.
pub(super) async fn enter(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let cost = match read(&mut form) {
        Ok(cost) => cost,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, draft, None).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| Ok(format!("/costs/{}", enter_cost(tx, doing, &cost)?)));
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The cost is entered.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, refusal(&form, f)?, None).await?)),
    }
}

/// The form with the cost as it stands.
///
/// # Errors
/// 404 when there is no such cost.
pub(super) async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<CostId>) -> Answer {
    let lot = app.read(move |c| Ok(costs::get(c, *id)?)).await?;
    Ok(page(&form_page(&farmer, &app, draft_of(&lot), Some(&lot)).await?))
}

/// Saves the corrected cost.
///
/// # Errors
/// 404 when there is no such cost.
pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<CostId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let lot = app.read(move |c| Ok(costs::get(c, id)?)).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (cost, version) = match (read(&mut form), version) {
        (Ok(cost), Some(version)) => (cost, version),
        _ => return Ok(refused(&form_page(&farmer, &app, form.into_draft(), Some(&lot)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_cost(tx, doing, id, &cost, version)?;
        Ok(format!("/costs/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let mine: Vec<AnimalId> = form.all("animals").iter().filter_map(|id| id.parse().ok()).take(400).collect();
            let (now, mine) = app.read(move |c| Ok((costs::get(c, id)?, animals::many(c, &mine)?))).await?;
            let names = |all: Vec<String>| all.join(", ");
            let theirs = draft_of(&now).with("names", names(now.heads.iter().map(|h| h.name.clone()).collect()));
            let typed = form.into_draft().with("names", names(mine.iter().map(|a| a.name()).collect()));
            let draft = typed.stale(&theirs, LABELS, &format!("/costs/{id}/change"));
            Ok(refused(&form_page(&farmer, &app, draft, Some(&now)).await?))
        }
        Err(f) => Ok(refused(&form_page(&farmer, &app, refusal(&form, f)?, Some(&lot)).await?)),
    }
}
