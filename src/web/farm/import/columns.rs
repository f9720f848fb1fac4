//! The page on which the columns of a list are matched.

use super::kind;
use crate::actions::import_list::{Opened, look, match_columns};
use crate::book::ids::ImportFileId;
use crate::trade::import_file::Kind;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::sent::{Sent, refusal};
use crate::web::sheet_pages::{FirstLines, chosen, first_lines, with_columns};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/import/columns.html")]
struct ColumnsPage {
    frame: Frame,
    draft: Draft,
    kind: Kind,
    name: String,
    sheet: FirstLines,
    fields: Vec<(&'static str, &'static str)>,
}

fn fields(kind: Kind) -> Vec<(&'static str, &'static str)> {
    kind.fields().iter().map(|f| (f.as_str(), f.label())).collect()
}

fn columns_page(farmer: &Farmer, opened: &Opened, draft: Draft) -> ColumnsPage {
    ColumnsPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        kind: opened.kind,
        name: opened.file.name.clone(),
        sheet: first_lines(&opened.table),
        fields: fields(opened.kind),
    }
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, at: web::Path<(String, i64)>) -> Answer {
    let (kind, file) = (kind(&at.0)?, ImportFileId(at.1));
    let opened = app.read(move |c| look(c, kind, file)).await?;
    let draft = with_columns(Draft::empty(), &opened.columns);
    Ok(page(&columns_page(&farmer, &opened, draft)))
}

pub(super) async fn choose(farmer: Farmer, app: web::Data<App>, at: web::Path<(String, i64)>, sent: Sent) -> Answer {
    let (kind, file) = (kind(&at.0)?, ImportFileId(at.1));
    let (mut form, key) = sent.with_key();
    let opened = app.read(move |c| look(c, kind, file)).await?;
    let columns = chosen(&mut form, &fields(kind));
    if form.is_refused() {
        return Ok(refused(&columns_page(&farmer, &opened, form.into_draft())));
    }
    let done = app.act(&farmer, &key, move |tx, doing| {
        match_columns(tx, doing, kind, file, &columns)?;
        Ok(format!("/import/{kind}/{file}/look"))
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&columns_page(&farmer, &opened, refusal(&form, f)?))),
    }
}
