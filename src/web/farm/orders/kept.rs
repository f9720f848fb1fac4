//! The deposit of a cancelled order: keeping it, or setting it free again.

use crate::actions::Failure;
use crate::actions::keep_deposit::{keep_deposit, release_deposit};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::reservations;
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

async fn form_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Option<Draft>) -> Result<ActPage, PageError> {
    let ((r, who, _), kept, credit) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let credit = payments::credit(c, order.1.id)?;
            Ok((order, payments::held(c, For::Order(id))?, credit))
        })
        .await?;
    let is_open = r.cancelled_at.is_none();
    let kept = if is_open { Money::ZERO } else { Money::sum(kept.iter().map(|h| h.amount)).map_err(Failure::from)? };
    let credit = if is_open { Money::ZERO } else { credit };
    let mut choices = Vec::new();
    if credit.is_positive() {
        choices
            .push(("keep".to_string(), format!("Keep money of the {} that stand to their credit", credit.dollars())));
    }
    if kept.is_positive() {
        choices.push(("free".to_string(), format!("Set money of the {} that are kept free", kept.dollars())));
    }
    let can = !choices.is_empty();
    let first = choices.first().map_or("", |(value, _)| value.as_str());
    let amount = if first == "keep" { credit } else { kept };
    let fresh =
        Draft::empty().with("version", r.version.to_string()).with("what", first).with("amount", amount.plain());
    Ok(ActPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or(fresh),
        over: vec![Link::new("/orders", "Orders"), Link::new(format!("/orders/{id}"), r.number.clone())],
        heading: format!("Deposit of {}, order {}", who.name, r.number),
        lead: match (is_open, can) {
            (true, _) => {
                "This order is open: its deposit is the customer’s until the invoice. Cancel the order first.".into()
            }
            (_, false) => "Nothing of this order is kept, and nothing stands to their credit.".into(),
            _ => "What is kept is the farm’s; what is set free is owed back to the customer.".into(),
        },
        caution: match (can, farmer.farm.deposit_policy.is_empty()) {
            (false, _) => String::new(),
            (true, true) => {
                "You have no deposit policy in the settings. Keep only what your customer agreed to.".into()
            }
            (true, false) => {
                format!("Your policy: {} Keep only what your customer agreed to.", farmer.farm.deposit_policy)
            }
        },
        search: None,
        fields: if can {
            vec![
                Field::Hidden("version"),
                Field::Radios("what", "What is to be done?", choices),
                Field::Money("amount", "How much?", String::new()),
                Field::Text("reason", "Why?", "It stands in the order’s story and in the ledger.".into()),
            ]
        } else {
            Vec::new()
        },
        button: "Record it",
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Keeps it or sets it free.
///
/// # Errors
/// 404 when there is no such order; 409 when somebody saved in between.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let frees = form.raw("what") == "free";
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.positive_money("amount", "Amount"),
        form.text("reason", "Reason", 300),
    );
    let (version, amount, reason) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let act = if frees { release_deposit } else { keep_deposit };
        act(tx, doing, id, version, amount, &reason)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Recorded.")),
        Err(Failure::Stale) => {
            let (r, ..) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
            let fresh = Draft::empty().with("version", r.version.to_string());
            let draft = form.into_draft().stale(&fresh, &[], &format!("/orders/{id}"));
            Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
