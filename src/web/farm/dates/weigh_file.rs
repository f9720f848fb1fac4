//! A file of weights: sent, and its columns matched.

use crate::actions::Failure;
use crate::actions::read_weight_file::{How, Opened, keep_file, look, match_columns, open};
use crate::book::ids::{AnimalId, DateId, WeightFileId};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{animals, carcasses, dates};
use crate::trade::dates::long;
use crate::trade::sheet_file::columns::Matched;
use crate::trade::sheet_file::{MOST_BYTES, shortened};
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weigh_file::Field;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::sent::{Sent, refusal};
use crate::web::upload;
use actix_web::{HttpRequest, web};
use askama::Template;

/// Lines of the file that the page of columns shows.
const SHOWN: usize = 5;

#[derive(Template)]
#[template(path = "farm/dates/weigh_file.html")]
struct SendPage {
    frame: Frame,
    draft: Draft,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    unit: &'static str,
}

async fn send_page(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<SendPage, Failure> {
    let (date, plant) = app.read(move |c| Ok(dates::get(c, id)?)).await?;
    Ok(SendPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        day: long(date.kill_on, farmer.now.today),
        unit: farmer.unit(),
        date,
        plant,
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
    let text = if sent.is_too_large {
        let mb = MOST_BYTES / 1024 / 1024;
        let says = format!("The file has more than {mb} MB. Take out what is not needed, or send it in parts.");
        Err(Failure::refuse("file", says))
    } else {
        let file = std::mem::take(&mut sent.file);
        web::block(move || open(&file)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
    };
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
    above: Vec<String>,
    /// The headings with their numbers, and the first lines below them.
    headings: Vec<String>,
    lines: Vec<Vec<String>>,
    more: usize,
    fields: Vec<(&'static str, &'static str)>,
    options: Vec<(String, String)>,
    bases: Choices,
}

fn columns_page(farmer: &Farmer, waiting: &Waiting, draft: Draft) -> ColumnsPage {
    let table = &waiting.opened.table;
    let heading = |(n, h): (usize, &String)| match h.is_empty() {
        true => format!("Column {}", n.saturating_add(1)),
        false => shortened(h),
    };
    let headings: Vec<String> = table.headings.iter().enumerate().map(heading).collect();
    let example = |n: usize| table.lines.iter().map(|l| l.cell(n)).find(|c| !c.is_empty());
    let options = headings.iter().enumerate().map(|(n, heading)| {
        let such = example(n).map(|e| format!(", such as {}", shortened(e))).unwrap_or_default();
        (n.saturating_add(1).to_string(), format!("{heading}{such}"))
    });
    let width = headings.len();
    let cells = |l: &crate::trade::sheet_file::Line| (0..width).map(|n| shortened(l.cell(n))).collect();
    ColumnsPage {
        frame: farmer.frame(Tab::Dates),
        id: waiting.date.id,
        day: long(waiting.date.kill_on, farmer.now.today),
        plant: waiting.plant.name.clone(),
        name: waiting.opened.file.name.clone(),
        above: table.above.iter().map(|a| shortened(a)).collect(),
        options: options.collect(),
        headings,
        lines: table.lines.iter().take(SHOWN).map(cells).collect(),
        more: table.lines.len().saturating_sub(SHOWN),
        fields: Field::ALL.iter().map(|f| (f.as_str(), f.label())).collect(),
        bases: choices(CarcassBasis::ALL, CarcassBasis::as_str, CarcassBasis::label),
        draft,
    }
}

pub(super) async fn columns(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>) -> Answer {
    let waiting = waiting(&app, DateId(ids.0), WeightFileId(ids.1)).await?;
    let draft = Draft::empty()
        .with("basis", waiting.usual.basis.as_str())
        .with("weighed_on", waiting.usual.weighed_on.to_string());
    let matched = waiting.opened.columns.iter();
    let draft = matched.fold(draft, |draft, (key, n)| draft.with(key.clone(), n.saturating_add(1).to_string()));
    Ok(page(&columns_page(&farmer, &waiting, draft)))
}

pub(super) async fn choose(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>, sent: Sent) -> Answer {
    let (id, file) = (DateId(ids.0), WeightFileId(ids.1));
    let (mut form, key) = sent.with_key();
    let waiting = waiting(&app, id, file).await?;
    let mut columns = Matched::new();
    for field in Field::ALL {
        let chosen = form.optional_id(field.as_str(), field.label()).flatten();
        if let Some(n) = chosen.and_then(|n| usize::try_from(n.saturating_sub(1)).ok()) {
            columns.insert(field.as_str().to_string(), n);
        }
    }
    let basis: Option<CarcassBasis> = form.word("basis", "How they were weighed");
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
