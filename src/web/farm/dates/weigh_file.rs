//! A file of weights: sent, and its columns matched.

use crate::actions::Failure;
use crate::actions::read_weight_file::{How, Opened, keep_file, look, match_columns};
use crate::book::ids::{AnimalId, DateId, WeightFileId};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{animals, carcasses, dates, weight_files};
use crate::trade::dates::{hour, long, near};
use crate::trade::sheet_file::MOST_BYTES;
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weigh_file::Field;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::sent::{Sent, refusal};
use crate::web::sheet_pages::{self, FirstLines, chosen, first_lines, with_columns};
use crate::web::upload;
use actix_web::{HttpRequest, web};
use askama::Template;

#[derive(Template)]
#[template(path = "farm/dates/weigh_file.html")]
struct SendPage {
    frame: Frame,
    draft: Draft,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    hint: String,
    /// Files that were sent and not taken yet.
    waiting: Vec<Link>,
}

async fn send_page(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<SendPage, Failure> {
    let ((date, plant), waiting) = app.read(move |c| Ok((dates::get(c, id)?, weight_files::waiting(c, id)?))).await?;
    let (today, zone) = (farmer.now.today, farmer.now.zone);
    let waiting = waiting.into_iter().map(|(file, name, at)| {
        let sent = format!("{}, {}", near(at.day(zone), today), hour(at.utc().with_timezone(&zone).time()));
        Link::new(format!("/dates/{id}/weigh-in/file/{file}/look"), format!("“{name}”, sent {sent}"))
    });
    Ok(SendPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        day: long(date.kill_on, farmer.now.today),
        hint: format!(
            "CSV with a line of headings, up to 5 MB. Weights have to be in {}. Save a spreadsheet as CSV first.",
            farmer.unit()
        ),
        date,
        plant,
        waiting: waiting.collect(),
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&send_page(&farmer, &app, *id, Draft::empty()).await?))
}

pub(super) async fn send(
    req: HttpRequest,
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<DateId>,
    body: web::Payload,
) -> Answer {
    let id = *id;
    let mut sent = upload::read(&req, body, "file", MOST_BYTES).await?;
    let text = sheet_pages::text(&mut sent).await;
    let text = match text {
        Ok(text) => text,
        Err(f) => return Ok(refused(&send_page(&farmer, &app, id, refusal(&sent.form, f)?).await?)),
    };
    let name = sent.file_name.clone();
    let done = app.act(&farmer, &sent.key, move |tx, doing| {
        let file = keep_file(tx, doing, id, &name, &text)?;
        // Columns that were matched for such headings before need no second look.
        let is_matched = look(tx.conn(), id, file)?.is_matched;
        Ok(format!("/dates/{id}/weigh-in/file/{file}{}", if is_matched { "/look" } else { "" }))
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&send_page(&farmer, &app, id, refusal(&sent.form, f)?).await?)),
    }
}

/// A file that waits, its date, and what the weigh-in of the date says so far of basis and day.
pub(super) struct Waiting {
    pub(super) date: ProcessingDate,
    pub(super) plant: Processor,
    pub(super) opened: Opened,
    pub(super) usual: How,
}

pub(super) async fn waiting(app: &App, id: DateId, file: WeightFileId) -> Result<Waiting, Failure> {
    app.read(move |c| {
        let (date, plant) = dates::get(c, id)?;
        let ids: Vec<AnimalId> = animals::on_date(c, id)?.iter().map(|a| a.id).collect();
        let stored = carcasses::weigh_ins(c, &ids)?;
        let first = ids.iter().find_map(|id| stored.get(id));
        let usual = How {
            basis: first.map_or(CarcassBasis::Hot, |w| w.basis),
            weighed_on: first.map_or(date.kill_on, |w| w.weighed_on),
        };
        Ok(Waiting { opened: look(c, id, file)?, date, plant, usual })
    })
    .await
}

#[derive(Template)]
#[template(path = "farm/dates/weigh_file_columns.html")]
struct ColumnsPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    plant: String,
    name: String,
    sheet: FirstLines,
    fields: Vec<(&'static str, &'static str)>,
    bases: Choices,
}

fn columns_page(farmer: &Farmer, waiting: &Waiting, draft: Draft) -> ColumnsPage {
    ColumnsPage {
        frame: farmer.frame(Tab::Dates),
        id: waiting.date.id,
        day: long(waiting.date.kill_on, farmer.now.today),
        plant: waiting.plant.name.clone(),
        name: waiting.opened.file.name.clone(),
        sheet: first_lines(&waiting.opened.table),
        fields: Field::ALL.iter().map(|f| (f.as_str(), f.label())).collect(),
        bases: choices(CarcassBasis::ALL, CarcassBasis::as_str, CarcassBasis::label),
        draft,
    }
}

pub(super) async fn columns(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>) -> Answer {
    let waiting = waiting(&app, DateId(ids.0), WeightFileId(ids.1)).await?;
    let draft = Draft::empty()
        .with("usual", waiting.usual.basis.as_str())
        .with("weighed_on", waiting.usual.weighed_on.to_string());
    let draft = with_columns(draft, &waiting.opened.columns);
    Ok(page(&columns_page(&farmer, &waiting, draft)))
}

pub(super) async fn choose(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>, sent: Sent) -> Answer {
    let (id, file) = (DateId(ids.0), WeightFileId(ids.1));
    let (mut form, key) = sent.with_key();
    let waiting = waiting(&app, id, file).await?;
    let fields: Vec<_> = Field::ALL.iter().map(|f| (f.as_str(), f.label())).collect();
    let columns = chosen(&mut form, &fields);
    // Not “basis”: that is a column of the file.
    let basis: Option<CarcassBasis> = form.word("usual", "How they were weighed");
    let weighed_on = form.date("weighed_on", "Weighed on");
    let (basis, weighed_on) = match form.finish((basis, weighed_on)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&columns_page(&farmer, &waiting, draft))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        match_columns(tx, doing, id, file, &columns)?;
        Ok(format!("/dates/{id}/weigh-in/file/{file}/look?basis={basis}&on={weighed_on}"))
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&columns_page(&farmer, &waiting, refusal(&form, f)?))),
    }
}
