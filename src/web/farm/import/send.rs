//! The page that a list is sent with.

use super::{kind, says};
use crate::actions::import_list::{keep_list, look};
use crate::trade::import_file::{Kind, MOST_LINES};
use crate::trade::sheet_file::MOST_BYTES;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::sent::refusal;
use crate::web::{sheet_pages, upload};
use actix_web::{HttpRequest, web};
use askama::Template;

#[derive(Template)]
#[template(path = "farm/import/send.html")]
struct SendPage {
    frame: Frame,
    draft: Draft,
    kind: Kind,
    says: &'static str,
    hint: String,
    fields: String,
}

fn send_page(farmer: &Farmer, kind: Kind, draft: Draft) -> SendPage {
    let fields: Vec<&str> = kind.fields().iter().map(|f| f.label()).collect();
    SendPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        kind,
        says: says(kind),
        hint: format!(
            "Saved as CSV by any spreadsheet program, with a line of headings: up to 5 MB and {MOST_LINES} lines."
        ),
        fields: fields.join("; "),
    }
}

pub(super) async fn ask(farmer: Farmer, word: web::Path<String>) -> Answer {
    Ok(page(&send_page(&farmer, kind(&word)?, Draft::empty())))
}

pub(super) async fn send(
    req: HttpRequest,
    farmer: Farmer,
    app: web::Data<App>,
    word: web::Path<String>,
    body: web::Payload,
) -> Answer {
    let kind = kind(&word)?;
    let mut sent = upload::read(&req, body, "file", MOST_BYTES).await?;
    let text = match sheet_pages::text(&mut sent).await {
        Ok(text) => text,
        Err(f) => return Ok(refused(&send_page(&farmer, kind, refusal(&sent.form, f)?))),
    };
    let name = sent.file_name.clone();
    let done = app.act(&farmer, &sent.key, move |tx, doing| {
        let file = keep_list(tx, doing, kind, &name, &text)?;
        // Columns that were matched for such headings before need no second look.
        let is_matched = look(tx.conn(), kind, file)?.is_matched;
        Ok(format!("/import/{kind}/{file}{}", if is_matched { "/look" } else { "" }))
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&send_page(&farmer, kind, refusal(&sent.form, f)?))),
    }
}
