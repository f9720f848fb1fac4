//! Everything out of the book as tables: one by one, or all in a zip file.

use crate::actions::Failure;
use crate::actions::export_tables::{Table, Ways, everything, headings, rows};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::respond::{CSV, attachment, page};
use crate::web::look::{Frame, Tab};
use actix_web::body::BodyStream;
use actix_web::web;
use actix_web::web::Bytes;
use askama::Template;
use futures_util::stream;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/export", web::get().to(list));
    cfg.route("/export/everything.zip", web::get().to(all));
    cfg.route("/export/{table}.csv", web::get().to(one));
}

#[derive(Template)]
#[template(path = "farm/export/list.html")]
struct ListPage {
    frame: Frame,
    tables: &'static [Table],
}

async fn list(farmer: Farmer) -> Answer {
    Ok(page(&ListPage { frame: farmer.frame(Tab::Settings), tables: Table::ALL }))
}

/// Where a table that is being sent stands: the shared parts, and the key the next rows follow on.
struct Sending {
    app: App,
    table: Table,
    ways: Ways,
    after: Option<i64>,
}

/// A table, sent page by page. Each page is a snapshot of its own: what is entered meanwhile may stand in a later one.
async fn one(farmer: Farmer, app: web::Data<App>, word: web::Path<String>) -> Answer {
    let table: Table = word.parse().map_err(|_| PageError::Failed(Failure::NotFound))?;
    let today = farmer.now.today;
    let (ways, first, after) = app
        .read(move |c| {
            let ways = Ways::read(c, today)?;
            let begin = rows(c, table, &ways, 0)?;
            let text = headings(table, &ways) + &begin.text;
            Ok((ways, text, begin.next))
        })
        .await?;
    let sending = Sending { app: app.get_ref().clone(), table, ways, after };
    let begin = stream::once(async move { Ok::<_, actix_web::Error>(Bytes::from(first)) });
    let rest = stream::unfold(sending, |mut sending| async move {
        let after = sending.after?;
        let (table, ways) = (sending.table, sending.ways.clone());
        match sending.app.read(move |c| rows(c, table, &ways, after)).await {
            Ok(page) => {
                sending.after = page.next;
                Some((Ok(Bytes::from(page.text)), sending))
            }
            // The answer breaks off, so that half a table is not taken for a whole one.
            Err(e) => {
                sending.after = None;
                Some((Err(actix_web::error::ErrorInternalServerError(e.to_string())), sending))
            }
        }
    });
    let body = BodyStream::new(Box::pin(futures_util::StreamExt::chain(begin, rest)));
    Ok(attachment(&format!("{table}-{today}.csv"), CSV, body))
}

async fn all(farmer: Farmer, app: web::Data<App>) -> Answer {
    let today = farmer.now.today;
    let zip = app.read(move |c| everything(c, today)).await?;
    Ok(attachment(&format!("gambrel-tables-{today}.zip"), "application/zip", zip))
}
