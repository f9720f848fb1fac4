//! A file of weights beside what is in the book, and the button that takes all of it.

use super::plant::compared;
use super::weigh_file::{Waiting, waiting};
use super::weigh_in::{after, done_at};
use crate::actions::Failure;
use crate::actions::read_weight_file::{How, Preview, Row, preview};
use crate::actions::record_weights::{Fate, confirming, field};
use crate::actions::take_weight_file::{Take, take_file};
use crate::book::ids::{AnimalId, DateId, WeightFileId};
use crate::trade::animal::Class;
use crate::trade::dates::{full, long};
use crate::trade::dressing::{percent_tenths, shown};
use crate::trade::plant_entry::{self, Carcass};
use crate::trade::sheet_file::Fault;
use crate::trade::vocabulary::CarcassBasis;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// So many faulty or foreign lines are shown; the rest is counted.
const SHOWN: usize = 50;

/// A line, as the page shows it.
struct Line {
    id: AnimalId,
    number: usize,
    name: String,
    says: String,
    /// What is in the book: "Not in the book yet", "The same is in the book", "Differs from the book".
    book: Standing,
    differs: String,
    reckoned: String,
    plausible: bool,
    /// What the tick repeats, its words, and why it is asked.
    confirm: Option<(String, String, String)>,
    /// What the weigh-in refuses about it.
    errors: Vec<(String, String)>,
}

impl Line {
    fn field(&self, what: &str) -> String {
        field(self.id, what)
    }
}

#[derive(Template)]
#[template(path = "farm/dates/weigh_file_look.html")]
struct LookPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    file: WeightFileId,
    day: String,
    name: String,
    lead: String,
    /// "Hot where the file does not say it, weighed October 14, 2027."
    how: String,
    basis: String,
    weighed_on: String,
    /// When the same file was taken, and by whom.
    taken: String,
    faults: Vec<String>,
    faults_more: usize,
    strangers: Vec<String>,
    strangers_more: usize,
    leave_out: String,
    lines: Vec<Line>,
    not_yet: Vec<String>,
    missing: Vec<String>,
    changes: usize,
    fingerprint: String,
}

/// A line's weights as a plant's entry would say them, so that both pages compare them with the book in the same way.
fn as_entry(row: &Row, how: How) -> Carcass {
    let fate = match &row.row.fate {
        Fate::Hung { hung, condemned_parts } => {
            plant_entry::Fate::Hung { hung: *hung, condemned_parts: condemned_parts.clone() }
        }
        Fate::Condemned(why) | Fate::Lost(why) => plant_entry::Fate::Condemned(why.clone()),
        Fate::Open => plant_entry::Fate::Condemned(String::new()),
    };
    Carcass {
        weighed_on: how.weighed_on,
        basis: row.basis,
        head_on: row.row.head_on,
        skin_on: row.row.skin_on,
        number: row.row.carcass_number.clone(),
        fate,
    }
}

fn line(row: &Row, how: How, unit: &str, draft: &Draft) -> Line {
    let entry = as_entry(row, how);
    let (book, differs) = compared(&entry, row.stored.as_ref(), unit);
    let mut says = entry.says(unit).unwrap_or_default();
    if !entry.number.is_empty() {
        says.push_str(&format!("; carcass number {}", entry.number));
    }
    let mut found = Line {
        id: row.animal.id,
        number: row.line,
        name: row.animal.name(),
        says,
        book,
        differs,
        reckoned: String::new(),
        plausible: false,
        confirm: None,
        errors: Vec::new(),
    };
    let name = found.field("left");
    if draft.has_err(&name) {
        found.errors.push((name.clone(), draft.err(&name).to_string()));
    }
    let Some(hung) = row.hung() else { return found };
    let Ok(total) = hung.total() else { return found };
    let percent =
        row.live.and_then(|live| percent_tenths(live, total)).map(|p| format!(", {} of live weight", shown(p)));
    found.reckoned = format!("{} {unit}{}", total.shown(), percent.unwrap_or_default());
    found.plausible = row.doubts.is_empty() && row.live.is_some() && row.animal.class().is_some();
    if !row.doubts.is_empty() && !row.is_same {
        let class = row.animal.class().unwrap_or(Class::Steer);
        let why: Vec<_> = row.doubts.iter().map(|d| format!("{}.", d.sentence(class))).collect();
        let words = format!("{} {unit} is right ({})", total.shown(), confirming(hung));
        found.confirm = Some((confirming(hung), words, why.join(" ")));
    }
    found
}

fn lead(seen: &Preview, of_file: usize) -> String {
    let lines = counted(of_file, "line", "lines");
    if !seen.faults.is_empty() {
        return format!("{} read. Something has to be corrected first; nothing is saved before.", capital(&lines));
    }
    match seen.changes() {
        0 => format!("{} read. Nothing in it differs from the book.", capital(&lines)),
        n => format!(
            "{} read; {} would be saved, all together or none. Nothing is saved yet.",
            capital(&lines),
            counted(n, "head", "head")
        ),
    }
}

fn first(faults: &[Fault]) -> (Vec<String>, usize) {
    (faults.iter().take(SHOWN).map(Fault::sentence).collect(), faults.len().saturating_sub(SHOWN))
}

fn look_page(farmer: &Farmer, waiting: &Waiting, seen: &Preview, how: How, draft: Draft) -> LookPage {
    let unit = farmer.unit();
    let today = farmer.now.today;
    let (faults, faults_more) = first(&seen.faults);
    let (strangers, strangers_more) = first(&seen.strangers);
    let taken = waiting.opened.taken.as_ref().map(|t| {
        let day = full(t.taken_at.day(farmer.now.zone));
        format!(
            "The same file was taken for this date on {day}, by {}. Weights that were corrected since would be overwritten.",
            t.taken_by
        )
    });
    LookPage {
        frame: farmer.frame(Tab::Dates),
        id: waiting.date.id,
        file: waiting.opened.file.id,
        day: long(waiting.date.kill_on, today),
        name: waiting.opened.file.name.clone(),
        lead: lead(seen, waiting.opened.table.lines.len()),
        how: format!(
            "{}. Weighed on {}; {} where a line does not say it.",
            waiting.plant.name,
            full(how.weighed_on),
            how.basis
        ),
        basis: how.basis.to_string(),
        weighed_on: how.weighed_on.to_string(),
        taken: taken.unwrap_or_default(),
        faults,
        faults_more,
        strangers,
        strangers_more,
        leave_out: match seen.strangers.len() {
            1 => "Leave this line out".into(),
            n => format!("Leave these {n} lines out"),
        },
        lines: seen.rows.iter().map(|r| line(r, how, unit, &draft)).collect(),
        not_yet: seen.not_yet.iter().map(|(n, name)| format!("{name} (line {n})")).collect(),
        missing: seen.missing.clone(),
        changes: seen.changes(),
        fingerprint: seen.fingerprint.clone(),
        draft,
    }
}

async fn looked(app: &App, waiting: Waiting, how: How) -> Result<(Waiting, Preview), Failure> {
    app.read(move |c| {
        let seen = preview(c, &waiting.opened, how)?;
        Ok((waiting, seen))
    })
    .await
}

/// Basis and day as the address or the form has them; what is usual where they cannot be read.
fn how(basis: &str, on: &str, usual: How) -> How {
    How { basis: basis.parse().unwrap_or(usual.basis), weighed_on: on.parse().unwrap_or(usual.weighed_on) }
}

pub(super) async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(i64, i64)>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let (id, file) = (DateId(ids.0), WeightFileId(ids.1));
    let waiting = waiting(&app, id, file).await?;
    if !waiting.opened.is_matched {
        return Ok(see_other(&format!("/dates/{id}/weigh-in/file/{file}")));
    }
    let asked = |name: &str| query.get(name).map_or("", String::as_str);
    let how = how(asked("basis"), asked("on"), waiting.usual);
    let (waiting, seen) = looked(&app, waiting, how).await?;
    Ok(page(&look_page(&farmer, &waiting, &seen, how, Draft::empty())))
}

pub(super) async fn take(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>, sent: Sent) -> Answer {
    let (id, file) = (DateId(ids.0), WeightFileId(ids.1));
    let (mut form, key) = sent.with_key();
    let basis: Option<CarcassBasis> = form.word("basis", "How they were weighed");
    let weighed_on = form.date("weighed_on", "Weighed on");
    let rows = form.ids("row", "Lines").unwrap_or_default();
    let (basis, weighed_on) = match form.finish((basis, weighed_on)) {
        Ok(all) => all,
        Err(draft) => return again(&farmer, &app, id, file, &form, draft).await,
    };
    let take = Take {
        how: How { basis, weighed_on },
        fingerprint: form.line("fingerprint"),
        leave_out: form.tick("leave_out"),
        again: form.tick("again"),
        confirmed: rows.into_iter().map(AnimalId).map(|a| (a, form.line(&field(a, "ok")))).collect(),
    };
    let done = app.act(&farmer, &key, move |tx, doing| Ok(done_at(id, take_file(tx, doing, id, file, &take)?)));
    match done.await {
        Ok(url) => Ok(after(id, &url)),
        Err(Failure::Stale) => {
            let says = "Weights or columns were changed elsewhere after this page was shown. Nothing was taken. Look the lines over again.";
            let draft = form.refuse("", says).headed("Something changed in between");
            again(&farmer, &app, id, file, &form, draft).await
        }
        Err(f) => {
            let draft = refusal(&form, f)?;
            again(&farmer, &app, id, file, &form, draft).await
        }
    }
}

/// The page once more, as things stand now, with what was typed.
async fn again(farmer: &Farmer, app: &App, id: DateId, file: WeightFileId, form: &FormIn, draft: Draft) -> Answer {
    let waiting = waiting(app, id, file).await?;
    if !waiting.opened.is_matched {
        return Err(PageError::Elsewhere(format!("/dates/{id}/weigh-in/file/{file}")));
    }
    let how = how(form.raw("basis"), form.raw("weighed_on"), waiting.usual);
    let (waiting, seen) = looked(app, waiting, how).await?;
    Ok(refused(&look_page(farmer, &waiting, &seen, how, draft)))
}
