//! A share goes to another customer.

use crate::actions::Failure;
use crate::actions::transfer_share::transfer_share;
use crate::book::ids::{CustomerId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::{people, reservations};
use crate::trade::fold;
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
use std::collections::HashMap;

/// Customers in the list; who is not among them is looked for by name.
const LISTED: i64 = 100;

async fn form_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    q: String,
    draft: Option<Draft>,
) -> Result<ActPage, PageError> {
    let words = fold::fold(&q);
    let ((r, who, o), held, people) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            Ok((order, payments::held(c, For::Order(id))?, people::page(c, &words, None, LISTED)?))
        })
        .await?;
    let held = Money::sum(held.iter().map(|h| h.amount)).map_err(Failure::from)?;
    let choices: Vec<(String, String)> =
        people.iter().filter(|p| p.id != who.id).map(|p| (p.id.to_string(), p.name.clone())).collect();
    let mut fields = Vec::new();
    if !choices.is_empty() {
        fields.push(Field::Hidden("version"));
        fields.push(Field::Select("to", "To whom?", choices));
        if held.is_positive() {
            fields.push(Field::Tick(
                "with_deposit",
                "The deposit goes along",
                "Otherwise it is owed back to the one who paid it, and asked of the new one.",
            ));
        }
    }
    let fresh = Draft::empty().with("version", r.version.to_string()).with("with_deposit", "yes");
    Ok(ActPage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or(fresh).with("q", q),
        over: vec![Link::new("/orders", "Orders"), Link::new(format!("/orders/{id}"), r.number.clone())],
        heading: format!("Give the {} of {} to somebody else", super::words::share(&r, &o).to_lowercase(), who.name),
        lead: if held.is_positive() {
            format!("Price, place and cut sheet stay. {} of deposit is held.", held.dollars())
        } else {
            "Price, place and cut sheet stay. No deposit is held.".into()
        },
        caution: "At a custom-exempt plant the meat is for the owners of the live animal and their households: a share changes \
            hands before slaughter. Ask your state’s meat inspection program when in doubt."
            .into(),
        search: Some("Look for a customer by name"),
        fields,
        button: "Transfer the share",
    })
}

/// The form: `?q=` narrows the list of customers.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<i64>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    Ok(page(&form_page(&farmer, &app, ReservationId(*id), q, None).await?))
}

/// Transfers it.
///
/// # Errors
/// 404 when there is no such order or customer; 409 when somebody saved in between.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), form.id("to", "Customer"));
    let with_deposit = form.tick("with_deposit");
    let (version, to) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, String::new(), Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        transfer_share(tx, doing, id, version, CustomerId(to), with_deposit)?;
        Ok(format!("/orders/{id}"))
    });
    let draft = match done.await {
        Ok(url) => return Ok(notice::with(see_other(&url), "The share is theirs now.")),
        Err(Failure::Stale) => {
            let (r, ..) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
            let fresh = Draft::empty().with("version", r.version.to_string());
            form.into_draft().stale(&fresh, &[], &format!("/orders/{id}"))
        }
        Err(f) => refusal(&form, f)?,
    };
    Ok(refused(&form_page(&farmer, &app, id, String::new(), Some(draft)).await?))
}
