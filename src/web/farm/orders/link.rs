//! The private link of an order, for the farmer: mail it, show it once, renew it, revoke it.

use crate::actions::{Failure, private_link};
use crate::book::ids::{ReceiptId, ReservationId};
use crate::book::rows::links::CustomerLink;
use crate::book::{links, payments, placements, reservations};
use crate::post::envelope::check_address;
use crate::secret;
use crate::trade::dates;
use crate::trade::private_link::OPEN_DAYS;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
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
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

#[derive(Template)]
#[template(path = "farm/orders/link.html")]
struct LinkPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    name: String,
    lead: String,
    /// Whether links can be made for this order.
    opens: bool,
    /// Whether there is one that works.
    is_live: bool,
    /// The customer's mail address; empty when there is none a mail can go to.
    mail: String,
    /// Whether the address people type is set, so that a mail can carry a link.
    has_address: bool,
    days: i64,
    /// The order's receipts: where a copy with a link on it is made, its number, and the form key of the download.
    receipts: Vec<(String, String, String)>,
}

/// How the links stand: "One link works. It was last opened on Thursday, October 14."
pub fn standing(live: &[CustomerLink], farmer: &Farmer) -> String {
    if live.is_empty() {
        return "No link works now.".into();
    }
    let (one, many) = ("link works", "links work");
    let count = capital(&counted(live.len(), one, many));
    match live.iter().filter_map(|l| l.last_used_at).max_by_key(|at| at.0) {
        Some(at) => {
            let day = dates::long(at.day(farmer.now.zone), farmer.now.today);
            format!("{count}. The order was last opened on {day}.")
        }
        None => {
            format!("{count}, and none was opened yet.").replace("One link works, and none", "One link works, but it")
        }
    }
}

async fn link_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<LinkPage, PageError> {
    let now = farmer.now;
    let ((r, customer, _), live, opens, receipts) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let opens = private_link::opens(c, &order.0, now)?;
            let invoice = placements::invoiced(c, &[id])?.first().map(|i| i.invoice);
            let receipts = payments::receipts_of_order(c, id, invoice)?;
            Ok((order, links::live_of(c, id)?, opens, receipts))
        })
        .await?;
    let ended = if r.cancelled_at.is_some() { "The order is cancelled" } else { "The order was settled long ago" };
    Ok(LinkPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number,
        lead: if opens { standing(&live, farmer) } else { format!("{ended}, so its private links have ended.") },
        opens,
        is_live: opens && !live.is_empty(),
        mail: check_address(&customer.mail).unwrap_or_default(),
        name: customer.name,
        has_address: app.config.public_url.is_some(),
        days: OPEN_DAYS,
        receipts: receipts
            .into_iter()
            .map(|(receipt, number)| {
                let key = secret::form_key(&farmer.form_secret).unwrap_or_default();
                (format!("/orders/{id}/receipts/{receipt}/with-link"), number, key)
            })
            .collect(),
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&link_page(&farmer, &app, ReservationId(*id), Draft::empty()).await?))
}

/// The page again with what the rules have against it.
async fn again(farmer: &Farmer, app: &App, id: ReservationId, failure: Failure) -> Answer {
    let Failure::Refused(problems) = failure else { return Err(failure.into()) };
    let draft = Draft::empty().headed("Nothing was changed");
    let draft = problems.0.into_iter().fold(draft, |d, p| d.problem("", p.sentence));
    Ok(refused(&link_page(farmer, app, id, draft).await?))
}

/// Puts a mail with a link into the outbox.
///
/// # Errors
/// 404 when there is no such order.
pub async fn send(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (_, key) = sent.with_key();
    if app.config.public_url.is_none() && app.config.smtp_url.is_some() {
        let why = "No public address is set (GAMBREL_PUBLIC_URL), so a mail cannot carry a link. Show one instead.";
        return again(&farmer, &app, id, Failure::refuse("", why)).await;
    }
    let done = app.act(&farmer, &key, move |tx, doing| {
        private_link::send_link(tx, doing, id)?;
        Ok(format!("/orders/{id}/link"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The mail with the link is in the Outbox.")),
        Err(failure) => again(&farmer, &app, id, failure).await,
    }
}

/// Makes every link of the order stop working.
///
/// # Errors
/// 404 when there is no such order.
pub async fn revoke(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (_, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        private_link::revoke(tx, doing, id)?;
        Ok(format!("/orders/{id}/link"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The private link is revoked.")),
        Err(failure) => again(&farmer, &app, id, failure).await,
    }
}

/// A copy of a receipt with a fresh link on it, as a square to scan and in words; asked for by a form, because looking makes nothing.
///
/// # Errors
/// 404 when there is no such order, or the receipt is not one of it.
pub async fn on_receipt(farmer: Farmer, app: web::Data<App>, path: web::Path<(i64, i64)>, sent: Sent) -> Answer {
    let (id, receipt) = path.into_inner();
    let (id, receipt) = (ReservationId(id), ReceiptId(receipt));
    let (_, key) = sent.with_key();
    let Some(base) = app.config.public_url.clone() else {
        let why = "No public address is set (GAMBREL_PUBLIC_URL), so a paper cannot carry a link. Show one instead.";
        return again(&farmer, &app, id, Failure::refuse("", why)).await;
    };
    let token = secret::token().map_err(Failure::Unexpected)?;
    let paper = Arc::new(Mutex::new(None));
    let made = paper.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        let pdf = private_link::link_on_receipt(tx, doing, id, receipt, &base, &token)?;
        if let Ok(mut made) = made.lock() {
            *made = Some(pdf);
        }
        Ok(format!("/orders/{id}/link"))
    });
    let url = match done.await {
        Ok(url) => url,
        Err(failure) => return again(&farmer, &app, id, failure).await,
    };
    let pdf = paper.lock().ok().and_then(|mut pdf| pdf.take());
    Ok(match pdf {
        Some((name, pdf)) => pdf_answer(&name, pdf),
        None => notice::with(see_other(&url), "That copy was made already. Press the button again for another one."),
    })
}

#[derive(Template)]
#[template(path = "farm/orders/link_shown.html")]
struct ShownPage {
    frame: Frame,
    id: ReservationId,
    number: String,
    name: String,
    share: String,
    url: String,
    picture: QrPicture,
    /// The address without its beginning, in groups, for reading out.
    groups: Vec<String>,
}

/// Makes a link and shows it this once; with `renew` the earlier ones stop working. There is no page to come back to: its token is
/// stored as a hash.
async fn make(
    farmer: Farmer,
    app: web::Data<App>,
    id: ReservationId,
    req: &HttpRequest,
    key: &str,
    renew: bool,
) -> Answer {
    let token = secret::token().map_err(Failure::Unexpected)?;
    let fresh = Arc::new(AtomicBool::new(false));
    let (made, mine) = (fresh.clone(), token.clone());
    let back = format!("/orders/{id}/link");
    let to = back.clone();
    let done = app.act(&farmer, key, move |tx, doing| {
        private_link::show_link(tx, doing, id, &mine, renew)?;
        made.store(true, Ordering::SeqCst);
        Ok(to.clone())
    });
    if let Err(failure) = done.await {
        return again(&farmer, &app, id, failure).await;
    }
    if !fresh.load(Ordering::SeqCst) {
        let says = "That link was shown already and cannot be shown again. Show another one.";
        return Ok(notice::with(see_other(&back), says));
    }
    let (r, customer, o) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
    let url = private_link::url(&app.base(req), &token);
    Ok(page(&ShownPage {
        picture: QrPicture::of(&url)?,
        frame: farmer.frame(Tab::Orders),
        id,
        share: super::words::share(&r, &o).to_lowercase(),
        number: r.number,
        name: customer.name,
        groups: token.as_bytes().chunks(4).map(|four| String::from_utf8_lossy(four).into_owned()).collect(),
        url,
    }))
}

/// Shows a new link beside those there are.
///
/// # Errors
/// 404 when there is no such order.
pub async fn reveal(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, req: HttpRequest, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    make(farmer, app, ReservationId(*id), &req, &key, false).await
}

/// Shows a new link in the place of those there are.
///
/// # Errors
/// 404 when there is no such order.
pub async fn renew(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, req: HttpRequest, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    make(farmer, app, ReservationId(*id), &req, &key, true).await
}
