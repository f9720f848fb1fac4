//! A receipt on request, for a payment that was recorded without one.

use crate::actions::receipt_later::receipt_later;
use crate::book::ids::{InvoiceId, PaymentId};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::see_other;
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;

/// Makes it, and goes back to the invoice it was asked for on, or to Money.
///
/// # Errors
/// 404 when there is no such payment.
pub async fn make(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = PaymentId(*id);
    let (mut form, key) = sent.with_key();
    let back = match form.optional_id("invoice", "Invoice") {
        Some(Some(invoice)) => format!("/invoices/{}", InvoiceId(invoice)),
        _ => "/money#pay".to_string(),
    };
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            receipt_later(tx, doing, id)?;
            Ok(back.clone())
        })
        .await?;
    Ok(notice::with(see_other(&url), "The receipt is made; its number leads to the paper."))
}
