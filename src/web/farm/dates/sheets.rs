//! Whose cut sheets are missing on a date, with what can be done about each; and what holds for the sheets of this date.

use super::sides::{SideLine, lines as side_lines};
use crate::actions::plant_offer::{Unfit, unfit};
use crate::actions::share_side::{Agreed, sides_on};
use crate::actions::sheet_time::{SheetWays, has_mail, remind_now, reminder_days, set_sheet_ways, standard_now};
use crate::actions::{Doing, Failure};
use crate::book::ids::{DateId, ReservationId};
use crate::book::placements::{self, Share};
use crate::book::rows::animals::Animal;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::sheets::{SheetDraft, SheetReminder};
use crate::book::sheets_due::{self, Asked, Due};
use crate::book::store::Tx;
use crate::book::{animals, dates, sheet_drafts};
use crate::trade::dates::{long, near, short};
use crate::trade::sheets_due::{Lock, days_left, lock};
use crate::trade::vocabulary::SheetOrigin;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::heads::share_words;
use crate::web::farm::orders::words::begun;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing, tel};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

struct Missing {
    order: ReservationId,
    name: String,
    standing: Standing,
    share: String,
    phone: String,
    tel: String,
    reminded: String,
    /// That its customer has begun it, and when it was last changed; empty when not.
    begun: String,
    has_mail: bool,
}

struct NotDone {
    href: String,
    name: String,
    why: Vec<String>,
}

struct In {
    href: String,
    name: String,
    share: String,
    standing: Standing,
    /// That its customer has begun another one; empty when not.
    begun: String,
    request: Option<String>,
}

#[derive(Template)]
#[template(path = "farm/dates/sheets.html")]
struct SheetsPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    lead: String,
    plant: String,
    missing: Vec<Missing>,
    not_done: Vec<NotDone>,
    there: Vec<In>,
    sides: Vec<SideLine>,
    due: String,
    closed: String,
    reminders: String,
    standard: bool,
    is_over: bool,
}

struct Seen {
    date: ProcessingDate,
    plant: Processor,
    head: Vec<Animal>,
    shares: Vec<Share>,
    due: Vec<Due>,
    drafts: HashMap<ReservationId, SheetDraft>,
    reminders: Vec<SheetReminder>,
    asked: Vec<Asked>,
    sides: Vec<Agreed>,
    is_sent: bool,
    unfit: Vec<Unfit>,
}

async fn look(farmer: &Farmer, app: &App, id: DateId) -> Result<Seen, PageError> {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    Ok(app
        .read(move |c| {
            let (date, plant) = dates::get(c, id)?;
            let due = sheets_due::on_dates(c, &[id])?;
            // What is cut already is not held against what the plant says today.
            let open: &[Due] = if date.kill_on < today { &[] } else { &due };
            let unfit = unfit(c, &farm, today, &[(&date, &plant, open)])?;
            let mut head = animals::on_date(c, id)?;
            head.retain(|a| a.lost_on.is_none());
            let ids: Vec<_> = head.iter().map(|a| a.id).collect();
            Ok(Seen {
                shares: placements::shares_on(c, &ids)?,
                drafts: sheet_drafts::of(c, &due.iter().map(|s| s.reservation).collect::<Vec<_>>())?,
                due,
                unfit,
                reminders: sheets_due::reminders(c, &[id])?,
                asked: sheets_due::open_requests(c)?,
                sides: sides_on(c, id)?,
                is_sent: sheets_due::sent(c, &[id])?.contains_key(&id),
                date,
                plant,
                head,
            })
        })
        .await?)
}

fn stored(date: &ProcessingDate) -> Draft {
    Draft::empty()
        .with("version", date.version.to_string())
        .with_some("no_reminders", date.no_reminders.then_some("yes"))
        .with_some("sheets_open", date.sheets_open.then_some("yes"))
        .with("plant_reference", date.plant_reference.clone())
}

fn sheets_page(farmer: &Farmer, seen: &Seen, draft: Draft) -> SheetsPage {
    let today = farmer.now.today;
    let d = &seen.date;
    let share_of = |due: &Due| {
        let on: Vec<String> = seen
            .shares
            .iter()
            .filter(|s| s.reservation == due.reservation)
            .filter_map(|s| seen.head.iter().find(|a| a.id == s.animal).map(Animal::name))
            .collect();
        format!("{}, {}", capital(&share_words(due.size, due.part)), on.join(" and "))
    };
    let wanted = seen.due.len();
    let missing: Vec<Missing> = seen
        .due
        .iter()
        .filter(|s| s.is_missing())
        .map(|s| {
            let days: Vec<String> = seen
                .reminders
                .iter()
                .filter(|r| r.reservation_id == s.reservation)
                .map(|r| short(r.made_at.day(farmer.now.zone), today))
                .collect();
            Missing {
                order: s.reservation,
                name: s.name.clone(),
                standing: match (seen.drafts.contains_key(&s.reservation), has_mail(s)) {
                    (true, _) => Standing::part("Begun"),
                    (false, true) => Standing::todo("Missing"),
                    (false, false) => Standing::todo("To phone"),
                },
                begun: seen.drafts.get(&s.reservation).map(|d| begun(d, farmer.now)).unwrap_or_default(),
                share: share_of(s),
                phone: s.phone.clone(),
                tel: tel(&s.phone),
                reminded: if days.is_empty() { String::new() } else { format!("Reminded {}.", days.join(", ")) },
                has_mail: has_mail(s),
            }
        })
        .collect();
    let there = seen
        .due
        .iter()
        .filter(|s| !s.is_missing())
        .map(|s| In {
            href: format!("/orders/{}/cut-sheet", s.reservation),
            name: s.name.clone(),
            share: share_of(s),
            standing: match &s.sheet {
                Some(_) if seen.unfit.iter().any(|u| u.reservation == s.reservation) => Standing::late("Does not fit"),
                Some(x) if x.origin == SheetOrigin::Standard => Standing::done("Standard cut"),
                Some(x) => Standing::done(format!("In, {}", short(x.entered_at.day(farmer.now.zone), today))),
                None => Standing::todo("Missing"),
            },
            begun: seen.drafts.get(&s.reservation).map(|d| begun(d, farmer.now)).unwrap_or_default(),
            request: seen
                .asked
                .iter()
                .find(|(r, _)| r.reservation_id == s.reservation)
                .map(|(r, _)| format!("/sheet-requests/{}", r.id)),
        })
        .collect();
    let lead = match (wanted, missing.len()) {
        (0, _) => "No share on this date takes a cut sheet yet.".to_string(),
        (n, 0) => format!("{} in.", capital(&counted(n, "cut sheet is", "cut sheets are"))),
        (n, m) => format!("{} of {} missing.", capital(&count(m)), counted(n, "cut sheet is", "cut sheets are")),
    };
    let due = match d.sheets_due {
        None => String::new(),
        Some(day) => {
            let when = match days_left(day, today) {
                0 => ", today".to_string(),
                1 => ", tomorrow".to_string(),
                n if n > 1 => format!(", in {n} days"),
                _ => ", over".to_string(),
            };
            format!("{}{when}", near(day, today))
        }
    };
    let closed = match lock(d.sheets_due, d.kill_on, today, seen.is_sent, d.sheets_open) {
        Lock::Open(Some(day)) => format!("Customers can change their sheets until the end of {}.", near(day, today)),
        Lock::Open(None) => "Customers can change their sheets.".into(),
        Lock::TimeUp(_) => "Time is up: customers can only ask for changes, and you take or refuse them.".into(),
        Lock::Sent => "The packet is sent: customers can only ask for changes, and you take or refuse them.".into(),
    };
    let days = reminder_days(&farmer.farm).shown();
    SheetsPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        id: d.id,
        day: format!("{}, {}", long(d.kill_on, today), seen.plant.name),
        lead,
        plant: seen.plant.name.clone(),
        missing,
        not_done: seen
            .unfit
            .iter()
            .map(|u| NotDone {
                href: format!("/orders/{}/cut-sheet", u.reservation),
                name: u.name.clone(),
                why: u.why.clone(),
            })
            .collect(),
        there,
        sides: side_lines(&seen.sides),
        due,
        closed,
        reminders: match (d.no_reminders, days.as_str()) {
            (true, _) => "Off for this date".into(),
            (_, "") => "None set".into(),
            (_, days) => format!("{days} days before the deadline, by mail"),
        },
        standard: farmer.farm.sheets_standard,
        is_over: d.cancelled_at.is_some() || d.kill_on < today,
    }
}

/// The list.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let seen = look(&farmer, &app, *id).await?;
    Ok(page(&sheets_page(&farmer, &seen, stored(&seen.date))))
}

const LABELS: &[(&str, &str)] = &[
    ("no_reminders", "No reminders"),
    ("sheets_open", "Open for changes"),
    ("plant_reference", "The processor’s own reference"),
];

/// Saves what holds for the sheets of this date.
pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let reference = form.optional_text("plant_reference", "The processor’s own reference", 60);
    let (no_reminders, sheets_open) = (form.tick("no_reminders"), form.tick("sheets_open"));
    let (version, plant_reference) = match form.finish((version, reference)) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&sheets_page(&farmer, &look(&farmer, &app, id).await?, draft))),
    };
    let ways = SheetWays { no_reminders, sheets_open, plant_reference };
    let done = app.act(&farmer, &key, move |tx, doing| {
        set_sheet_ways(tx, doing, id, version, &ways)?;
        Ok(format!("/dates/{id}/sheets"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(f) => {
            let seen = look(&farmer, &app, id).await?;
            let draft = match f {
                Failure::Stale => form.into_draft().stale(&stored(&seen.date), LABELS, &format!("/dates/{id}/sheets")),
                f => refusal(&form, f)?,
            };
            Ok(refused(&sheets_page(&farmer, &seen, draft)))
        }
    }
}

/// Reminds one customer now.
pub(super) async fn remind(
    farmer: Farmer,
    app: web::Data<App>,
    path: web::Path<(DateId, ReservationId)>,
    sent: Sent,
) -> Answer {
    let done = "The reminder is in the Outbox.";
    press(farmer, app, *path, sent, done, "Nobody was reminded", |tx, doing, date, order| {
        remind_now(tx, doing, date, order).map(|_| ())
    })
    .await
}

/// Enters the standard cut for one customer.
pub(super) async fn standard(
    farmer: Farmer,
    app: web::Data<App>,
    path: web::Path<(DateId, ReservationId)>,
    sent: Sent,
) -> Answer {
    let done = "The standard cut is entered, and a message about it is in the Outbox.";
    press(farmer, app, *path, sent, done, "No sheet was entered", standard_now).await
}

/// One of the buttons of the list: back to the list when it is done, and the list with the reason when it is not.
async fn press(
    farmer: Farmer,
    app: web::Data<App>,
    (id, order): (DateId, ReservationId),
    sent: Sent,
    done: &str,
    not_done: &str,
    act: fn(&mut Tx, &Doing, DateId, ReservationId) -> Result<(), Failure>,
) -> Answer {
    let (form, key) = sent.with_key();
    let outcome = app.act(&farmer, &key, move |tx, doing| {
        act(tx, doing, id, order)?;
        Ok(format!("/dates/{id}/sheets"))
    });
    match outcome.await {
        Ok(url) => Ok(notice::with(see_other(&url), done)),
        Err(f) => {
            let draft = refusal(&form, f)?.headed(not_done);
            let seen = look(&farmer, &app, id).await?;
            Ok(refused(&sheets_page(&farmer, &seen, again(&seen, &draft))))
        }
    }
}

/// The form as it is stored, with what a button of the list was refused for.
fn again(seen: &Seen, refused: &Draft) -> Draft {
    let form = stored(&seen.date).headed(refused.headline());
    refused.problems().iter().fold(form, |d, p| d.problem("", p.says.clone()))
}

impl Missing {
    fn ask(&self) -> &'static str {
        if self.has_mail { "Mail" } else { "Write" }
    }
}

impl SheetsPage {
    fn booking(&self) -> Link {
        Link::new(
            format!("/dates/{}/change", self.id),
            if self.due.is_empty() { "Set a deadline" } else { "Change the deadline" },
        )
    }
}
