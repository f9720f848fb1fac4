//! Moving up from the waiting list, free lines and products of an order.

use super::words;
use crate::actions::change_order::{add_line, set_products, take_line_off};
use crate::actions::move_up::move_up as move_it_up;
use crate::book::ids::{ChargeId, OrderChargeId, ReservationId};
use crate::book::reservations;
use crate::trade::money::Percent;
use crate::trade::vocabulary::Per;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/orders/move_up.html")]
struct MoveUpPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    heading: String,
}

async fn move_up_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<MoveUpPage, PageError> {
    let (r, customer, o) = app.read(move |c| Ok(reservations::get(c, id)?)).await?;
    Ok(MoveUpPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number.clone(),
        heading: format!("Give {} a {}?", customer.name, words::share(&r, &o).to_lowercase()),
    })
}

/// Asks before moving up.
///
/// # Errors
/// 404 when there is no such order.
pub async fn ask_move_up(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&move_up_page(&farmer, &app, ReservationId(*id), Draft::empty().with("tell", "yes")).await?))
}

/// Moves up.
///
/// # Errors
/// 404 when there is no such order.
pub async fn move_up(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (form, key) = sent.with_key();
    let tell = form.tick("tell");
    let done = app.act(&farmer, &key, move |tx, doing| {
        move_it_up(tx, doing, id, tell)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "It has a share now.")),
        Err(f) => Ok(refused(&move_up_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

#[derive(Template)]
#[template(path = "farm/orders/lines.html")]
struct LinesPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    lines: Vec<crate::book::rows::selling::OrderCharge>,
    products: Vec<(String, String, String, &'static str)>,
}

async fn lines_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<LinesPage, PageError> {
    let unit = farmer.unit();
    let ((r, ..), lines, products) = app
        .read(move |c| Ok((reservations::get(c, id)?, reservations::lines(c, id)?, reservations::products(c, id)?)))
        .await?;
    let mut draft = draft.or("tax", "0");
    for (charge, made) in &products {
        draft = draft.or(&format!("product-{}", charge.id), made.map(|w| w.short()).unwrap_or_default());
    }
    Ok(LinesPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number,
        lines,
        products: products
            .into_iter()
            .map(|(c, _)| {
                let each = if c.per == Per::Pack { "pack" } else { unit };
                let cost = format!("{} per {each}, {}", c.rate.dollars(), c.billed_by.label());
                (format!("product-{}", c.id), c.name, cost, if c.per == Per::Pack { "packs" } else { unit })
            })
            .collect(),
    })
}

/// Free lines and products.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show_lines(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&lines_page(&farmer, &app, ReservationId(*id), Draft::empty()).await?))
}

/// Adds a line, or takes one off.
///
/// # Errors
/// 404 when there is no such order or line.
pub async fn save_line(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let back = format!("/orders/{id}/lines");
    if let Some(Some(line)) = form.optional_id("off", "Line") {
        let done = app.act(&farmer, &key, move |tx, doing| {
            take_line_off(tx, doing, id, OrderChargeId(line))?;
            Ok(back.clone())
        });
        return match done.await {
            Ok(url) => Ok(notice::with(see_other(&url), "The line is taken off.")),
            Err(f) => Ok(refused(&lines_page(&farmer, &app, id, refusal(&form, f)?).await?)),
        };
    }
    let parts = (
        form.text("name", "What for", 120),
        form.signed_money("amount", "Amount"),
        if form.is_blank("tax") { Some(Percent::ZERO) } else { form.percent("tax", "Tax") },
    );
    let (name, amount, tax) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&lines_page(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        add_line(tx, doing, id, &name, amount, tax)?;
        Ok(back.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The line is added.")),
        Err(f) => Ok(refused(&lines_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// Saves weights of product.
///
/// # Errors
/// 404 when there is no such order.
pub async fn save_products(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let products = app.read(move |c| Ok(reservations::products(c, id)?)).await?;
    let mut made = Vec::new();
    for (charge, _) in &products {
        if let Some(weight) = form.optional_weight(&format!("product-{}", charge.id), &charge.name) {
            made.push((ChargeId(charge.id.0), weight));
        }
    }
    if form.is_refused() {
        return Ok(refused(&lines_page(&farmer, &app, id, form.into_draft()).await?));
    }
    let done = app.act(&farmer, &key, move |tx, doing| {
        set_products(tx, doing, id, &made)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(f) => Ok(refused(&lines_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
