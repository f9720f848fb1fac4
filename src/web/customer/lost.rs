//! "I lost my link": it is mailed again to the address in the book, and the answer tells a stranger nothing.

use crate::actions::private_link::send_lost_links;
use crate::book::at::Now;
use crate::book::farm;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused};
use crate::web::look::{Frame, Tab};
use crate::web::sent::Sent;
use actix_web::{HttpRequest, web};
use askama::Template;

#[derive(Template)]
#[template(path = "customer/lost.html")]
struct LostPage {
    frame: Frame,
    draft: Draft,
    phone: String,
    /// Whether an address was just sent in.
    asked: bool,
}

async fn lost_page(app: &App, draft: Draft, asked: bool) -> Result<LostPage, PageError> {
    let farm = app.read(|c| Ok(farm::get(c)?)).await?;
    let name = if farm.name.is_empty() { "Gambrel".to_string() } else { farm.name };
    let frame = Frame { demo: farm.is_demo, ..Frame::new(name, Tab::None) };
    Ok(LostPage { frame, draft, phone: farm.phone, asked })
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(app: web::Data<App>) -> Answer {
    Ok(page(&lost_page(&app, Draft::empty(), false).await?))
}

/// Says the same sentence to everybody, then looks whether the address is a customer's.
///
/// # Errors
/// 429 after too many.
pub async fn send(req: HttpRequest, app: web::Data<App>, sent: Sent) -> Answer {
    let mut form = sent.0;
    let mail = form.mail_address("mail", "Your mail address");
    let mail = match form.finish((mail,)) {
        Ok((mail,)) => mail.to_lowercase(),
        Err(draft) => return Ok(refused(&lost_page(&app, draft, false).await?)),
    };
    if !app.may_try(&format!("lost from {}", app.visitor(&req))) || !app.may_try(&format!("lost for {mail}")) {
        return Err(PageError::Slow);
    }
    let later = app.clone();
    // After the answer: how long the looking takes would tell who is a customer.
    actix_web::rt::spawn(async move {
        let app = later;
        let at = app.clock.at();
        let done = app.write(move |tx| {
            let zone = farm::get(tx.conn())?.zone();
            send_lost_links(tx, Now { at, today: at.day(zone), zone }, &mail)
        });
        match done.await {
            Ok(0) => {}
            Ok(_) => app.mail.notify_one(),
            Err(e) => tracing::error!(error = %e, "a lost link could not be sent"),
        }
    });
    Ok(page(&lost_page(&app, Draft::empty(), true).await?))
}
