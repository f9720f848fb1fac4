//! Finding the order of a payment by the reference that came with it, to record its deposit.

use crate::book::reservations;
use crate::trade::reference::{self, Typed};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

#[derive(Template)]
#[template(path = "farm/money/by_reference.html")]
struct FindPage {
    frame: Frame,
    draft: Draft,
}

/// The form; with `?reference=` on to the order's deposit.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let typed: String = query.get("reference").map(|r| r.trim().chars().take(60).collect()).unwrap_or_default();
    let shown = |draft: Draft| FindPage { frame: farmer.frame(Tab::Money), draft };
    if typed.is_empty() {
        return Ok(page(&shown(Draft::empty())));
    }
    let says = match reference::read(&typed) {
        Typed::Order(number) => {
            let found = app.read(move |c| Ok(reservations::by_number(c, &number)?)).await?;
            match found {
                Some(id) => return Ok(see_other(&format!("/orders/{id}/deposit"))),
                None => "No order has this reference. Look at it once more, or search by the name.".to_string(),
            }
        }
        Typed::Wrong => reference::WRONG.into(),
        Typed::NotOne => "That is no payment reference. It looks like 2027-031-6.".into(),
    };
    Ok(refused(&shown(Draft::empty().with("reference", typed).problem("reference", says))))
}
