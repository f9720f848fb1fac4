//! The answer to an offer from the waiting list.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::message_values::price_words;
use crate::actions::offer_share::answer_in_time;
use crate::book::{reservations, waiting_offers};
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/offer.html")]
struct OfferPage {
    frame: CustomerFrame,
    draft: Draft,
    share: String,
    season: String,
    price: String,
    /// The deposit asked; empty when there is none.
    deposit: String,
    /// Until the end of this day; empty when the offer is over.
    until: String,
}

async fn offer_page(holder: &Holder, app: &App, draft: Draft) -> Result<OfferPage, PageError> {
    let id = holder.order;
    let ((r, _, o), answer_by) =
        app.read(move |c| Ok((reservations::get(c, id)?, waiting_offers::answer_by(c, id)?))).await?;
    // Past its day it lapses by itself within minutes; it is over for the customer at once.
    let open = answer_by.filter(|day| *day >= holder.now.today);
    Ok(OfferPage {
        frame: holder.frame(),
        draft,
        share: holder.share.to_lowercase(),
        season: format!("{}, {}", o.species.label(), o.season),
        price: price_words(&r, holder.farm.unit),
        deposit: if r.deposit_asked.is_positive() { r.deposit_asked.dollars() } else { String::new() },
        until: open.map(|day| dates::long(day, holder.now.today)).unwrap_or_default(),
    })
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    Ok(page(&offer_page(&holder, &app, Draft::empty()).await?))
}

/// Takes yes or no.
///
/// # Errors
/// When the book cannot be written.
pub async fn answer(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (form, key) = sent.with_key();
    let yes = match form.raw("answer") {
        "yes" => true,
        "no" => false,
        _ => {
            let draft = Draft::empty().headed("Nothing was saved").problem("", "Press one of the two buttons.");
            return Ok(refused(&offer_page(&holder, &app, draft).await?));
        }
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        answer_in_time(tx, doing, order, yes)?;
        Ok("/my".to_string())
    });
    let says = if yes {
        "It is yours. We have set it aside for you."
    } else {
        "Thank you for telling us. It goes to the next in line, and you stay on the list."
    };
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), says)),
        Err(f) => Ok(refused(&offer_page(&holder, &app, refusal(&form, f)?).await?)),
    }
}
