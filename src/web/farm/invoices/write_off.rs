//! Writing off what is owed on an invoice.

use crate::actions::Failure;
use crate::actions::write_off::write_off;
use crate::book::ids::InvoiceId;
use crate::book::invoices;
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::money::act::{ActPage, Field};
use crate::web::farmer::Farmer;
use crate::web::look::Tab;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;

async fn form_page(farmer: &Farmer, app: &App, id: InvoiceId, draft: Option<Draft>) -> Result<ActPage, PageError> {
    let ((invoice, who, note), paid) =
        app.read(move |c| Ok((invoices::get(c, id)?, invoices::paid(c, &[id])?.remove(&id)))).await?;
    let owed = invoice.farm_total.plus(invoice.farm_tax).and_then(|t| t.minus(paid.unwrap_or_default()));
    let owed = if note.is_some() { Money::ZERO } else { owed.map_err(Failure::from)? };
    let is_owed = owed.is_positive();
    Ok(ActPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or_else(|| Draft::empty().with("amount", owed.plain())),
        over: vec![Link::new("/money", "Money"), Link::new(format!("/invoices/{id}"), invoice.number.clone())],
        heading: format!("Write off what {} owes", who.name),
        lead: if is_owed {
            format!(
                "{} is owed on invoice {}. What you write off is not asked for any more.",
                owed.dollars(),
                invoice.number
            )
        } else {
            format!("Nothing is owed on invoice {}.", invoice.number)
        },
        caution: if is_owed && !invoice.farm_tax.is_zero() {
            "Tax that was billed stays payable in this book. Ask your tax adviser whether it can be claimed back."
                .into()
        } else {
            String::new()
        },
        search: None,
        fields: if is_owed {
            vec![
                Field::Money("amount", "How much?", String::new()),
                Field::Text(
                    "reason",
                    "Why?",
                    "It stands in the story and the ledger; the customer does not see it.".into(),
                ),
            ]
        } else {
            Vec::new()
        },
        button: "Write it off",
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, InvoiceId(*id), None).await?))
}

/// Writes it off.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (form.positive_money("amount", "Amount"), form.text("reason", "Reason", 300));
    let (amount, reason) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        write_off(tx, doing, id, amount, &reason)?;
        Ok(format!("/invoices/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Written off.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
