//! The private link of a processing date, for the farmer: show it once, renew it, revoke it. It goes to the plant with the packet.

use crate::actions::{Failure, plant_link};
use crate::book::ids::DateId;
use crate::book::rows::plant_page::PlantLink;
use crate::book::{dates, plant_links};
use crate::secret;
use crate::trade::dates::{full, long};
use crate::trade::private_link::date_opens_until;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::qr::QrPicture;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::{HttpRequest, web};
use askama::Template;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

#[derive(Template)]
#[template(path = "farm/dates/plant_link.html")]
struct LinkPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    plant: String,
    lead: String,
    until: String,
    opens: bool,
    is_live: bool,
    has_address: bool,
    has_mail: bool,
}

/// How the links stand: "One link works. The date was last opened on Thursday, October 14."
pub(super) fn standing(live: &[PlantLink], farmer: &Farmer) -> String {
    if live.is_empty() {
        return "The plant has no link that works.".into();
    }
    let count = capital(&counted(live.len(), "link works", "links work"));
    match live.iter().filter_map(|l| l.last_used_at).max_by_key(|at| at.0) {
        Some(at) => {
            let day = long(at.day(farmer.now.zone), farmer.now.today);
            format!("{count}. The date was last opened on {day}.")
        }
        None => format!("{count}; the plant has not opened the date yet."),
    }
}

async fn link_page(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<LinkPage, PageError> {
    let (found, live) = app.read(move |c| Ok((dates::get(c, id)?, plant_links::live_of(c, id)?))).await?;
    let (date, plant) = found;
    Ok(LinkPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        id,
        day: long(date.kill_on, farmer.now.today),
        lead: standing(&live, farmer),
        until: full(date_opens_until(date.kill_on, date.pickup_to)),
        opens: plant_link::opens(&date, farmer.now),
        is_live: !live.is_empty(),
        has_address: app.config.public_url.is_some(),
        has_mail: !plant.mail.is_empty(),
        plant: plant.name,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&link_page(&farmer, &app, *id, Draft::empty()).await?))
}

#[derive(Template)]
#[template(path = "farm/dates/plant_link_shown.html")]
struct ShownPage {
    frame: Frame,
    id: DateId,
    day: String,
    plant: String,
    url: String,
    picture: QrPicture,
}

/// Makes a link and shows it this once; with `renew` the earlier ones stop working.
async fn make(farmer: Farmer, app: web::Data<App>, id: DateId, req: &HttpRequest, sent: Sent, renew: bool) -> Answer {
    let (form, key) = sent.with_key();
    let token = secret::token().map_err(Failure::Unexpected)?;
    let fresh = Arc::new(AtomicBool::new(false));
    let (made, mine) = (fresh.clone(), token.clone());
    let back = format!("/dates/{id}/plant/link");
    let to = back.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        plant_link::show_link(tx, doing, id, &mine, renew)?;
        made.store(true, Ordering::SeqCst);
        Ok(to.clone())
    });
    if let Err(failure) = done.await {
        let draft = crate::web::sent::refusal(&form, failure)?;
        return Ok(refused(&link_page(&farmer, &app, id, draft).await?));
    }
    if !fresh.load(Ordering::SeqCst) {
        let says = "That link was shown already and cannot be shown again. Show another one.";
        return Ok(notice::with(see_other(&back), says));
    }
    let (date, plant) = app.read(move |c| Ok(dates::get(c, id)?)).await?;
    let url = plant_link::url(&app.base(req), &token);
    Ok(page(&ShownPage {
        picture: QrPicture::of(&url)?,
        frame: farmer.frame(Tab::Dates),
        id,
        day: long(date.kill_on, farmer.now.today),
        plant: plant.name,
        url,
    }))
}

pub(super) async fn reveal(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<DateId>,
    req: HttpRequest,
    sent: Sent,
) -> Answer {
    make(farmer, app, *id, &req, sent, false).await
}

pub(super) async fn renew(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<DateId>,
    req: HttpRequest,
    sent: Sent,
) -> Answer {
    make(farmer, app, *id, &req, sent, true).await
}

pub(super) async fn revoke(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        plant_link::revoke(tx, doing, id)?;
        Ok(format!("/dates/{id}/plant/link"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The plant’s links are revoked.")),
        Err(f) => Ok(refused(&link_page(&farmer, &app, id, crate::web::sent::refusal(&form, f)?).await?)),
    }
}
