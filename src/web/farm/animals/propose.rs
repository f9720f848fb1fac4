//! Dates for animals that have none: the proposal, taken by ticks.

use crate::actions::propose_dates::{Proposed, Take, propose, take_dates};
use crate::book::ids::{AnimalId, DateId};
use crate::book::undated::{MOST, undated};
use crate::trade::dates::{full, near};
use crate::trade::decimal::plain;
use crate::trade::withdrawal;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
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

struct Row {
    animal: Link,
    /// The value of the tick, when a date is proposed.
    value: Option<String>,
    ticked: bool,
    date: String,
    standing: Standing,
    why: String,
    /// "1,164 lb on Nov 22, 2.1 lb a day, target 1,145".
    growth: String,
}

struct SlotRow {
    date: Link,
    words: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/animals/dates.html")]
struct DatesPage {
    frame: Frame,
    draft: Draft,
    lead: String,
    rows: Vec<Row>,
    slots: Vec<SlotRow>,
    any: bool,
    full: bool,
    caution: &'static str,
}

fn growth_words(p: &Proposed, unit: &str, today: chrono::NaiveDate) -> String {
    match &p.growth {
        Err(_) => String::new(),
        Ok(g) => format!(
            "{} {unit} on {}, {} {unit} a day ({}), target {} {unit} ({}), reached {}.",
            g.weighed.1.short(),
            near(g.weighed.0, today),
            plain(g.gain.a_day(), 2),
            g.usual.unwrap_or("from its own weights"),
            crate::trade::weight::Weight::from_hundredths((g.target.hundredths() + 50) / 100 * 100).short(),
            if g.promised { "from what the offering promises" } else { "usual for its class" },
            if g.ready_on <= today { "already".into() } else { full(g.ready_on) }
        ),
    }
}

async fn asked(farmer: &Farmer, app: &App, draft: Option<Draft>) -> Result<DatesPage, PageError> {
    let (today, unit) = (farmer.now.today, farmer.farm.unit);
    let all = app.read(move |c| Ok(undated(c, today)?)).await?;
    let (lines, uses) = propose(&all, unit, today);
    let named = |id: DateId| all.dates.iter().find(|(d, _)| d.id == id);
    let rows: Vec<_> = lines
        .iter()
        .map(|p| {
            let value = p.date.map(|(date, _)| format!("{}-{}-{date}", p.animal.id, p.animal.version));
            let date = p.date.and_then(|(id, _)| named(id));
            let ticked = match (&draft, &value) {
                (Some(draft), Some(value)) => draft.checked("take", value),
                (None, Some(_)) => true,
                (_, None) => false,
            };
            Row {
                animal: Link::new(format!("/animals/{}", p.animal.id), p.animal.name()),
                ticked,
                date: date.map_or(String::new(), |(d, plant)| format!("{}, {}", near(d.kill_on, today), plant.name)),
                standing: match (&p.growth, &value) {
                    (_, Some(_)) => Standing::part("Proposed"),
                    (Ok(_), None) => Standing::late("No date fits"),
                    (Err(_), None) => Standing::todo("Not known"),
                },
                value,
                why: p.why.clone(),
                growth: growth_words(p, unit.as_str(), today),
            }
        })
        .collect();
    let slots = uses
        .iter()
        .filter_map(|u| {
            let (date, plant) = named(u.date)?;
            let spare = u.booked - u.used - u.proposed;
            Some(SlotRow {
                date: Link::new(format!("/dates/{}", u.date), near(date.kill_on, today)),
                words: format!(
                    "{}: {} of {} {} used, {} proposed",
                    plant.name,
                    u.used,
                    u.booked,
                    u.species.label(),
                    u.proposed
                ),
                standing: match spare {
                    0 => Standing::done("Full"),
                    n if n > 0 => Standing::todo(format!("{n} spare")),
                    n => Standing::late(format!("{} over", n.saturating_neg())),
                },
            })
        })
        .collect();
    let proposed = rows.iter().filter(|r| r.value.is_some()).count();
    let none = rows.len() - proposed;
    let lead = match (rows.len(), proposed) {
        (0, _) => "Every animal has a date.".to_string(),
        (n, 0) => format!("{} without a date, and none can be proposed.", capital(&counted(n, "head is", "head are"))),
        (n, p) => format!(
            "{} without a date. For {} a date is proposed; {} short of one.",
            capital(&counted(n, "head is", "head are")),
            counted(p, "head", "head"),
            counted(none, "head is", "head are")
        ),
    };
    Ok(DatesPage {
        frame: farmer.frame(Tab::Animals),
        draft: draft.unwrap_or_else(Draft::empty),
        lead,
        full: i64::try_from(rows.len()).unwrap_or(0) >= MOST,
        any: proposed > 0,
        rows,
        slots,
        caution: withdrawal::CAUTION,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&asked(&farmer, &app, None).await?))
}

/// "12-1-3": animal, version, date.
fn read(text: &str) -> Option<Take> {
    let mut parts = text.splitn(3, '-').map(|p| p.parse::<i64>().ok());
    Some(Take { animal: AnimalId(parts.next()??), version: parts.next()??, date: DateId(parts.next()??) })
}

pub(super) async fn take(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let lines: Option<Vec<Take>> = form.all("take").iter().map(|text| read(text)).collect();
    let Some(lines) = lines.filter(|l| i64::try_from(l.len()).is_ok_and(|n| n <= MOST)) else {
        form.problem("take", "A tick is not of this page. Look over the proposal again.");
        return Ok(refused(&asked(&farmer, &app, Some(form.into_draft())).await?));
    };
    let n = lines.len();
    let done = app.act(&farmer, &key, move |tx, doing| {
        take_dates(tx, doing, &lines)?;
        Ok("/animals/dates".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            &format!("{} on a date now.", capital(&counted(n, "head is", "head are"))),
        )),
        Err(f) => Ok(refused(&asked(&farmer, &app, Some(refusal(&form, f)?)).await?)),
    }
}
