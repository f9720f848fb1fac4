//! Offering what is left to an order on the waiting list, and writing down the answer given by phone.

use crate::actions::offer_share::{answer_offer, offer_share};
use crate::book::ids::ReservationId;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::see_other;
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;

/// Where an answer leads: the order's own page, or the page of what is left.
fn back(from: &str, id: ReservationId) -> String {
    if from == "left" { "/for-sale/left".into() } else { format!("/orders/{id}") }
}

/// Offers.
///
/// # Errors
/// 404 when there is no such order; a page with the sentence when there is nothing to offer.
pub async fn offer(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (form, key) = sent.with_key();
    let next = back(form.raw("from"), id);
    let done = app
        .act(&farmer, &key, move |tx, doing| {
            offer_share(tx, doing, id)?;
            Ok(next.clone())
        })
        .await?;
    Ok(notice::with(see_other(&done), "It is offered and held. The message is in the Outbox."))
}

/// Records yes or no.
///
/// # Errors
/// 404 when there is no such order; a page with the sentence when the offer is over.
pub async fn answer(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (form, key) = sent.with_key();
    let yes = match form.raw("answer") {
        "yes" => true,
        "no" => false,
        _ => {
            return Ok(notice::with(see_other(&back(form.raw("from"), id)), "Press Yes or No. Nothing was saved."));
        }
    };
    let next = back(form.raw("from"), id);
    let done = app
        .act(&farmer, &key, move |tx, doing| {
            answer_offer(tx, doing, id, yes)?;
            Ok(next.clone())
        })
        .await?;
    let says =
        if yes { "It has its share now." } else { "Written down. If somebody is next in line, it is offered to them." };
    Ok(notice::with(see_other(&done), says))
}
