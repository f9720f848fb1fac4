//! A late wish for a cut sheet: what it would change, and the two buttons.

use crate::actions::sheet_request::{LONGEST_NOTE, Wish, look, refuse_change, take_change};
use crate::book::ids::SheetRequestId;
use crate::trade::dates::{long, near};
use crate::trade::vocabulary::RequestDecision;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// What stands in the field for the reason; the farmer can write something else.
const TOO_LATE: &str = "The processor has its cut sheets already.";

#[derive(Template)]
#[template(path = "farm/dates/request.html")]
struct RequestPage {
    frame: Frame,
    draft: Draft,
    id: SheetRequestId,
    heading: String,
    lead: String,
    changes: Vec<String>,
    order: Link,
    date: Option<(Link, String)>,
    phone: String,
    decided: String,
}

fn request_page(farmer: &Farmer, wish: &Wish, draft: Draft) -> RequestPage {
    let today = farmer.now.today;
    let (r, customer, o) = &wish.order;
    let asked = near(wish.request.asked_at.day(farmer.now.zone), today);
    let decided = match (wish.request.decision, wish.request.decided_at) {
        (Some(d), Some(at)) => {
            let day = near(at.day(farmer.now.zone), today);
            let word = match d {
                RequestDecision::Taken => "Taken",
                RequestDecision::Refused => "Refused",
            };
            format!("{word} {day}. {}", wish.request.note)
        }
        _ => String::new(),
    };
    RequestPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.or("note", TOO_LATE),
        id: wish.request.id,
        heading: format!("{} asks for a change", customer.name),
        lead: format!("{}, order {}, asked {asked}.", words::share(r, o), r.number),
        changes: wish.changes.clone(),
        order: Link::new(format!("/orders/{}", r.id), format!("Order {}", r.number)),
        date: wish.date.as_ref().map(|d| {
            let link = Link::new(format!("/dates/{}", d.id), long(d.kill_on, today));
            (link, d.sheets_due.map(|day| near(day, today)).unwrap_or_default())
        }),
        phone: customer.phone.clone(),
        decided,
    }
}

async fn seen(farmer: &Farmer, app: &App, id: SheetRequestId) -> Result<Wish, PageError> {
    let today = farmer.now.today;
    Ok(app.read(move |c| look(c, today, id)).await?)
}

/// The page.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<SheetRequestId>) -> Answer {
    let wish = seen(&farmer, &app, *id).await?;
    Ok(page(&request_page(&farmer, &wish, Draft::empty())))
}

/// Takes it.
pub(super) async fn take(farmer: Farmer, app: web::Data<App>, id: web::Path<SheetRequestId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        take_change(tx, doing, id)?;
        Ok(format!("/sheet-requests/{id}"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The change is in the cut sheet. If the packet was sent, send a new one."))
        }
        Err(f) => {
            let wish = seen(&farmer, &app, id).await?;
            Ok(refused(&request_page(&farmer, &wish, refusal(&form, f)?.headed("The change was not taken"))))
        }
    }
}

/// Refuses it.
pub(super) async fn refuse(farmer: Farmer, app: web::Data<App>, id: web::Path<SheetRequestId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let note = match form.optional_text("note", "Reason", LONGEST_NOTE) {
        Some(note) => note,
        None => {
            let wish = seen(&farmer, &app, id).await?;
            return Ok(refused(&request_page(&farmer, &wish, form.into_draft())));
        }
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        refuse_change(tx, doing, id, &note)?;
        Ok(format!("/sheet-requests/{id}"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The sheet stays as it is, and a message about it is in the Outbox."))
        }
        Err(f) => {
            let wish = seen(&farmer, &app, id).await?;
            Ok(refused(&request_page(&farmer, &wish, refusal(&form, f)?.headed("Nothing was refused"))))
        }
    }
}
