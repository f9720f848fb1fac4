//! The terms on the customer's page: to read and accept, or as they were accepted; and the confirmation as a PDF.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::Failure;
use crate::actions::accept_terms::accept_by_link;
use crate::actions::paper_again::paper_again;
use crate::book::{confirmations, sale_terms};
use crate::trade::dates;
use crate::trade::vocabulary::PaperKind;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::reserve::terms::Shown;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/terms.html")]
struct TermsPage {
    frame: CustomerFrame,
    draft: Draft,
    terms: Shown,
    /// When and how they were accepted; empty while they are not.
    accepted: String,
}

async fn terms_page(holder: &Holder, app: &App, draft: Draft) -> Result<TermsPage, PageError> {
    let (order, customer) = (holder.order, holder.customer);
    let (accepted, in_force) =
        app.read(move |c| Ok((sale_terms::accepted(c, order, customer)?, sale_terms::in_force(c)?))).await?;
    let (terms, accepted) = match (accepted, in_force) {
        (Some((a, terms)), _) => {
            let on = dates::long(a.accepted_on, holder.now.today);
            (terms, format!("You accepted them on {on}, {}.", a.way.label()))
        }
        (None, Some(terms)) => (terms, String::new()),
        (None, None) => return Err(Failure::NotFound.into()),
    };
    Ok(TermsPage { frame: holder.frame(), draft, terms: terms.into(), accepted })
}

/// The page.
///
/// # Errors
/// 404 when the farm has no terms.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    Ok(page(&terms_page(&holder, &app, Draft::empty()).await?))
}

/// Accepts them.
///
/// # Errors
/// 404 when the farm has no terms.
pub async fn accept(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    if !form.tick("accept") {
        form.problem("accept", "Tick that you have read the terms and accept them.");
    }
    let number = form.whole_number("terms_version", "Terms", 1..=i64::MAX);
    let number = match form.finish((number,)) {
        Ok((number,)) => number,
        Err(draft) => return Ok(refused(&terms_page(&holder, &app, draft).await?)),
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        accept_by_link(tx, doing, order, number)?;
        Ok("/my".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you. The terms you accepted stay with your order.")),
        Err(f) => Ok(refused(&terms_page(&holder, &app, refusal(&form, f)?).await?)),
    }
}

/// The last confirmation's PDF.
///
/// # Errors
/// 404 when there is none.
pub async fn confirmation_pdf(holder: Holder, app: web::Data<App>) -> Answer {
    let (order, customer) = (holder.order, holder.customer);
    let (name, pdf) = app
        .read(move |c| {
            let last = confirmations::last_of(c, order, customer)?.ok_or(Failure::NotFound)?;
            paper_again(c, PaperKind::Confirmation, last.id.0)
        })
        .await?;
    Ok(pdf_answer(&name, pdf))
}
