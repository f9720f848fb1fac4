//! A statement as a table: which column is which.

use crate::actions::bank_file::{Waiting, look, match_and_take};
use crate::book::ids::BankUploadId;
use crate::trade::bank::table::Field;
use crate::trade::sheet_file::columns::Matched;
use crate::trade::sheet_file::{Line, shortened};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// Lines of the file that the page shows.
const SHOWN: usize = 5;

#[derive(Template)]
#[template(path = "farm/money/bank_columns.html")]
struct ColumnsPage {
    frame: Frame,
    draft: Draft,
    name: String,
    account: String,
    above: Vec<String>,
    headings: Vec<String>,
    lines: Vec<Vec<String>>,
    more: usize,
    fields: Vec<(&'static str, &'static str)>,
    options: Vec<(String, String)>,
}

fn columns_page(farmer: &Farmer, waiting: &Waiting, draft: Draft) -> ColumnsPage {
    let table = &waiting.table;
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
    let cells = |l: &Line| (0..width).map(|n| shortened(l.cell(n))).collect();
    ColumnsPage {
        frame: farmer.frame(Tab::Money),
        name: waiting.upload.name.clone(),
        account: waiting.account.name.clone(),
        above: table.above.iter().map(|a| shortened(a)).collect(),
        options: options.collect(),
        headings,
        lines: table.lines.iter().take(SHOWN).map(cells).collect(),
        more: table.lines.len().saturating_sub(SHOWN),
        fields: Field::ALL.iter().map(|f| (f.as_str(), f.label())).collect(),
        draft,
    }
}

/// The page.
///
/// # Errors
/// 404 when the file was taken or forgotten.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = BankUploadId(*id);
    let waiting = app.read(move |c| look(c, id)).await?;
    let draft = waiting
        .columns
        .iter()
        .fold(Draft::empty(), |draft, (key, n)| draft.with(key.clone(), n.saturating_add(1).to_string()));
    Ok(page(&columns_page(&farmer, &waiting, draft)))
}

/// Remembers the columns and keeps the lines.
///
/// # Errors
/// 404 when the file was taken or forgotten.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = BankUploadId(*id);
    let (mut form, key) = sent.with_key();
    let waiting = app.read(move |c| look(c, id)).await?;
    let mut columns = Matched::new();
    for field in Field::ALL {
        let chosen = form.optional_id(field.as_str(), field.label()).flatten();
        if let Some(n) = chosen.and_then(|n| usize::try_from(n.saturating_sub(1)).ok()) {
            columns.insert(field.as_str().to_string(), n);
        }
    }
    let done = app.act(&farmer, &key, move |tx, doing| {
        match_and_take(tx, doing, id, &columns)?;
        Ok("/money/bank".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The statement is read. What is new in it stands below.")),
        Err(f) => Ok(refused(&columns_page(&farmer, &waiting, refusal(&form, f)?))),
    }
}
