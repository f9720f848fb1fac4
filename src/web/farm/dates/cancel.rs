//! Asking before a date is cancelled.

use crate::actions::Failure;
use crate::actions::book_date::cancel_date;
use crate::book::ids::DateId;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{animals, dates};
use crate::trade::dates::long;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/dates/cancel.html")]
struct CancelPage {
    frame: Frame,
    draft: Draft,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    head: Vec<Link>,
}

async fn asked(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<CancelPage, Failure> {
    let ((date, plant), head) = app.read(move |c| Ok((dates::get(c, id)?, animals::on_date(c, id)?))).await?;
    let head = head.iter().filter(|a| a.lost_on.is_none());
    Ok(CancelPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        day: long(date.kill_on, farmer.now.today),
        head: head.map(|a| Link::new(format!("/animals/{}/date", a.id), a.name())).collect(),
        date,
        plant,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&asked(&farmer, &app, *id, Draft::empty()).await?))
}

pub(super) async fn do_it(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), form.optional_text("reason", "Reason", 200));
    let (version, reason) = match form.finish(parts) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&asked(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        cancel_date(tx, doing, id, version, &reason)?;
        Ok("/dates".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The date is cancelled.")),
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
