//! Correcting one's own phone, mail and address.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::Failure;
use crate::actions::correct_contact::{Contact, correct_contact};
use crate::book::people;
use crate::book::rows::people::Customer;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/contact.html")]
struct ContactPage {
    frame: CustomerFrame,
    draft: Draft,
}

const LABELS: &[(&str, &str)] = &[("mail", "Mail address"), ("phone", "Phone"), ("address", "Address")];

fn stored(who: &Customer) -> Draft {
    Draft::empty()
        .with("version", who.version.to_string())
        .with("mail", who.mail.clone())
        .with("phone", who.phone.clone())
        .with("address", who.address.clone())
}

/// The form.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let id = holder.customer;
    let who = app.read(move |c| Ok(people::get(c, id)?)).await?;
    Ok(page(&ContactPage { frame: holder.frame(), draft: stored(&who) }))
}

/// Saves it.
///
/// # Errors
/// When the book cannot be written.
pub async fn save(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_mail_address("mail", "Mail address"),
        form.optional_phone("phone", "Phone"),
        form.optional_lines("address", "Address", 400),
    );
    let again = |draft: Draft| Ok(refused(&ContactPage { frame: holder.frame(), draft }));
    let (version, mail, phone, address) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return again(draft),
    };
    let (order, input) = (holder.order, Contact { mail, phone, address });
    let done = app.act(&holder, &key, move |tx, doing| {
        correct_contact(tx, doing, order, version, &input)?;
        Ok("/my".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you, we have it.")),
        Err(Failure::Stale) => {
            let id = holder.customer;
            let who = app.read(move |c| Ok(people::get(c, id)?)).await?;
            again(form.into_draft().stale(&stored(&who), LABELS, "/my"))
        }
        Err(f) => again(refusal(&form, f)?),
    }
}
