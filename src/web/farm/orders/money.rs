//! What can be done with an open order's deposit: giving it back, carrying it over.

use super::deposit::{methods, money_in};
use super::words;
use crate::actions::Failure;
use crate::actions::carry_deposit::carry_deposit;
use crate::actions::give_back::refund_deposit;
use crate::book::ids::ReservationId;
use crate::book::payments::{self, For};
use crate::book::reservations;
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::money::act::{ActPage, Field};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;

/// What both pages show.
struct Facts {
    number: String,
    who: String,
    held: Money,
    others: Choices,
}

async fn facts(app: &App, id: ReservationId) -> Result<Facts, PageError> {
    let ((r, who, _), held, others) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let held = if order.0.cancelled_at.is_some() { Vec::new() } else { payments::held(c, For::Order(id))? };
            let others = reservations::others_of(c, order.1.id, id)?;
            Ok((order, held, others))
        })
        .await?;
    let held = Money::sum(held.iter().map(|h| h.amount)).map_err(Failure::from)?;
    let others = others
        .iter()
        .map(|(r, o)| (r.id.to_string(), format!("{}, {}, {}", r.number, words::share(r, o).to_lowercase(), o.season)))
        .collect();
    Ok(Facts { number: r.number, who: who.name, held, others })
}

fn over(id: ReservationId, number: &str) -> Vec<Link> {
    vec![Link::new("/orders", "Orders"), Link::new(format!("/orders/{id}"), number)]
}

async fn refund_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    draft: Option<Draft>,
) -> Result<ActPage, PageError> {
    let f = facts(app, id).await?;
    let fresh = Draft::empty()
        .with("amount", f.held.plain())
        .with("received_on", farmer.now.today.to_string())
        .with("method", "check")
        .with("tell", "yes");
    Ok(ActPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or(fresh),
        over: over(id, &f.number),
        heading: format!("Give the deposit back to {}", f.who),
        lead: if f.held.is_positive() {
            format!(
                "{} is held for order {}, which stays. To end the order, cancel it instead.",
                f.held.dollars(),
                f.number
            )
        } else {
            format!("No deposit is held for order {}.", f.number)
        },
        caution: String::new(),
        search: None,
        fields: if f.held.is_positive() {
            vec![
                Field::Radios("method", "How does it go back?", methods()),
                Field::Money("amount", "Amount", String::new()),
                Field::Date("received_on", "Day"),
                Field::MaybeText("reference", "Check number or reference"),
                Field::Tick("tell", "Send the refund slip", "It is made in any case."),
            ]
        } else {
            Vec::new()
        },
        button: "Record that it was given back",
    })
}

/// The form to give a deposit back.
///
/// # Errors
/// 404 when there is no such order.
pub async fn ask_refund(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&refund_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Gives it back, and shows the slip.
///
/// # Errors
/// 404 when there is no such order.
pub async fn refund(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let money = money_in(&mut form);
    let tell = form.tick("tell");
    let money = match form.finish((money,)) {
        Ok((money,)) => money,
        Err(draft) => return Ok(refused(&refund_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        refund_deposit(tx, doing, id, &money, tell)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Recorded; the refund slip is made.")),
        Err(f) => Ok(refused(&refund_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}

async fn carry_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Option<Draft>) -> Result<ActPage, PageError> {
    let f = facts(app, id).await?;
    let can = f.held.is_positive() && !f.others.is_empty();
    Ok(ActPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or_else(|| Draft::empty().with("amount", f.held.plain())),
        over: over(id, &f.number),
        heading: "Carry the deposit over to another order".into(),
        lead: match (f.held.is_positive(), can) {
            (false, _) => format!("No deposit is held for order {}.", f.number),
            (true, false) => format!("{} has no other open order.", f.who),
            (true, true) => format!("{} is held for order {} of {}.", f.held.dollars(), f.number, f.who),
        },
        caution: String::new(),
        search: None,
        fields: if can {
            vec![
                Field::Select("to", "To which order?", f.others),
                Field::Money("amount", "How much of it?", String::new()),
            ]
        } else {
            Vec::new()
        },
        button: "Carry it over",
    })
}

/// The form to carry a deposit over.
///
/// # Errors
/// 404 when there is no such order.
pub async fn ask_carry(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&carry_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Carries it over.
///
/// # Errors
/// 404 when there is no such order.
pub async fn carry(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (form.id("to", "Order"), form.positive_money("amount", "Amount"));
    let (to, amount) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&carry_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        carry_deposit(tx, doing, id, ReservationId(to), amount)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The deposit is carried over.")),
        Err(f) => Ok(refused(&carry_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
