//! The messages about an order that reached its customer.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::book::outbox;
use crate::post::private_link;
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::look::respond::page;
use actix_web::web;
use askama::Template;

struct Said {
    day: String,
    subject: String,
    body: String,
}

#[derive(Template)]
#[template(path = "customer/messages.html")]
struct MessagesPage {
    frame: CustomerFrame,
    messages: Vec<Said>,
}

/// The page. A private link that a message carried is not shown again: its words are kept nowhere.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let id = holder.order;
    let found = app.read(move |c| Ok(outbox::reached(c, id)?)).await?;
    let said = |m: crate::book::rows::outbox::Message| Said {
        day: dates::long(m.queued_at.day(holder.now.zone), holder.now.today),
        body: private_link::without(&m.body),
        subject: m.subject,
    };
    Ok(page(&MessagesPage { frame: holder.frame(), messages: found.into_iter().map(said).collect() }))
}
