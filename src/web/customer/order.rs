//! The customer's page: what there is to do, and where the order stands.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::message_values::price_words;
use crate::book::reservations;
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::look::respond::page;
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/order.html")]
struct OrderPage {
    frame: CustomerFrame,
    name: String,
    heading: String,
    price: String,
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let id = holder.order;
    let (r, ..) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
    let since = dates::long(r.price_locked_on, holder.now.today);
    Ok(page(&OrderPage {
        frame: holder.frame(),
        name: holder.name.clone(),
        heading: format!("Your {}", holder.share.to_lowercase()),
        price: format!("{}. That price is locked since {since}.", price_words(&r, holder.farm.unit)),
    }))
}
