//! A credit note for a part of an invoice.

use crate::actions::credit_part::{PartCredit, credit_part};
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
    let (invoice, who, note) = app.read(move |c| Ok(invoices::get(c, id)?)).await?;
    let mut fields = Vec::new();
    if note.is_none() {
        fields.push(Field::Money("amount", "How much is taken back, without tax?", String::new()));
        if !invoice.farm_tax.is_zero() {
            fields.push(Field::MaybeMoney("tax", "Tax that was billed on it", String::new()));
        }
        fields.push(Field::Text("reason", "Why?", "It stands on the credit note.".into()));
        fields.push(Field::Tick("tell", "Send the credit note", "It is made in any case."));
    }
    Ok(ActPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or_else(|| Draft::empty().with("tell", "yes")),
        over: vec![Link::new("/money", "Money"), Link::new(format!("/invoices/{id}"), invoice.number.clone())],
        heading: format!("Take a part of invoice {} back", invoice.number),
        lead: if note.is_none() {
            format!(
                "A credit note to {} takes a part back; the invoice stays. What was paid too much becomes credit.",
                who.name
            )
        } else {
            format!("Invoice {} is voided; nothing is left of it.", invoice.number)
        },
        caution: String::new(),
        search: None,
        fields,
        button: "Make the credit note",
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, InvoiceId(*id), None).await?))
}

/// Makes it.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (
        form.positive_money("amount", "Amount"),
        form.optional_money("tax", "Tax"),
        form.text("reason", "Reason", 300),
    );
    let tell = form.tick("tell");
    let (amount, tax, reason) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let input = PartCredit { amount, tax: tax.unwrap_or(Money::ZERO), reason };
    let done = app.act(&farmer, &key, move |tx, doing| {
        credit_part(tx, doing, id, &input, tell)?;
        Ok(format!("/invoices/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The credit note is made.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
