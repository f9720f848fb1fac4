//! Recording the deposit of an order.

use super::words;
use crate::actions::Failure;
use crate::actions::record_deposit::{MoneyIn, record_deposit};
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::reservations;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/orders/deposit.html")]
struct DepositPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    heading: String,
    lead: String,
    methods: Choices,
}

/// The ways money comes in, as choices.
pub fn methods() -> Choices {
    choices(PayMethod::ALL, PayMethod::as_str, PayMethod::label)
}

/// Reads money as it came in: method, amount, day, reference, note.
pub fn money_in(form: &mut FormIn) -> Option<MoneyIn> {
    let method = form.word("method", "How it came");
    let amount = form.positive_money("amount", "Amount");
    let received_on = form.date("received_on", "Day received");
    let reference = form.optional_text("reference", "Check number or reference", 80);
    let note = form.optional_text("note", "Note", 200);
    Some(MoneyIn { method: method?, amount: amount?, received_on: received_on?, reference: reference?, note: note? })
}

async fn form_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    draft: Option<Draft>,
) -> Result<DepositPage, PageError> {
    let ((r, customer, o), held) =
        app.read(move |c| Ok((reservations::get(c, id)?, payments::held(c, For::Order(id))?))).await?;
    let held = Money::sum(held.iter().map(|h| h.amount)).map_err(Failure::from)?;
    let missing = r.deposit_asked.minus(held).map_err(Failure::from)?;
    let lead = if held.is_zero() {
        format!("{} was asked when the price was locked.", r.deposit_asked.dollars())
    } else {
        format!("{} of {} is in.", held.dollars(), r.deposit_asked.dollars())
    };
    let fresh = Draft::empty()
        .with("amount", if missing.is_positive() { missing.plain() } else { String::new() })
        .with("received_on", farmer.now.today.to_string())
        .with("method", "check")
        .with("tell", "yes");
    Ok(DepositPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or(fresh),
        id,
        number: r.number.clone(),
        heading: format!("Deposit of {} for a {}", customer.name, words::share(&r, &o).to_lowercase()),
        lead,
        methods: methods(),
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Records it.
///
/// # Errors
/// 404 when there is no such order.
pub async fn record(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let money = money_in(&mut form);
    let tell = form.tick("tell");
    let money = match form.finish((money,)) {
        Ok((money,)) => money,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        record_deposit(tx, doing, id, &money, tell)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            if tell {
                "The deposit is recorded; the receipt is in the Outbox."
            } else {
                "The deposit is recorded and its receipt made."
            },
        )),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
