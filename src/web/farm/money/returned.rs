//! A payment came back from the bank.

use crate::actions::bounce_payment::{Bounced, bounce_payment};
use crate::actions::make_receipt::method_words;
use crate::book::ids::PaymentId;
use crate::book::payments::{self, For};
use crate::book::{people, refunds};
use crate::trade::dates;
use crate::trade::vocabulary::{PayMethod, PaymentKind};
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

async fn form_page(farmer: &Farmer, app: &App, id: PaymentId, draft: Option<Draft>) -> Result<ActPage, PageError> {
    let (payment, who, pair, parts) = app
        .read(move |c| {
            let payment = payments::get(c, id)?;
            let who = people::get(c, payment.customer_id)?;
            Ok((payment, who, refunds::pair_of(c, id)?, payments::parts_of(c, id)?))
        })
        .await?;
    let today = farmer.now.today;
    let can = payment.kind == PaymentKind::Received && payment.method != PayMethod::Cash && pair.is_none();
    let how = method_words(payment.method, &payment.reference);
    let on_invoice = parts.iter().any(|(what, _)| matches!(what, For::Invoice(_)));
    Ok(ActPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or_else(|| Draft::empty().with("day", today.to_string())),
        over: vec![Link::new("/money", "Money"), Link::new(format!("/customers/{}", who.id), who.name.clone())],
        heading: format!("The bank returned {} from {}", payment.amount.dollars(), who.name),
        lead: if can {
            format!(
                "Received {}, {how}. The payment is undone, and what it was put to is open again.",
                dates::long(payment.received_on, today)
            )
        } else {
            "Only a check, card or bank payment that came in can be returned by the bank, and only once.".into()
        },
        caution: if can {
            "States limit what you may charge for a returned check. Ask before you charge, and say so to your customers beforehand."
                .into()
        } else {
            String::new()
        },
        search: None,
        fields: if can {
            let on = if on_invoice {
                "It is added to the invoice’s balance."
            } else {
                "It becomes a line of the order, if there is an open one."
            };
            vec![
                Field::Date("day", "Day the bank took it back"),
                Field::MaybeText("reason", "What the bank says"),
                Field::MaybeMoney("charge", "Charge for it", on.into()),
            ]
        } else {
            Vec::new()
        },
        button: "Record that it was returned",
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such payment.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, PaymentId(*id), None).await?))
}

/// Undoes the payment.
///
/// # Errors
/// 404 when there is no such payment.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = PaymentId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (
        form.date("day", "Day the bank took it back"),
        form.optional_text("reason", "What the bank says", 80),
        form.optional_money("charge", "Charge"),
    );
    let (day, reason, charge) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let input = Bounced { day, reason, charge };
    let done = app.act(&farmer, &key, move |tx, doing| {
        bounce_payment(tx, doing, id, &input)?;
        Ok(format!("/customers/{}", payments::get(tx.conn(), id)?.customer_id))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The payment is undone; what it was put to is open again.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
