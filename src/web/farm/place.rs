//! Giving one order its place on an animal, or another one.

use crate::actions::Failure;
use crate::actions::place_share::{Move, Target, place_shares, target_of};
use crate::book::ids::ReservationId;
use crate::book::placements::{self, Invoiced};
use crate::book::rows::selling::Reservation;
use crate::book::unplaced;
use crate::book::{animals, dates};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{place_words, targets};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/orders/{id}/place", web::get().to(ask));
    cfg.route("/orders/{id}/place", web::post().to(save));
}

#[derive(Template)]
#[template(path = "farm/place.html")]
struct PlacePage {
    frame: Frame,
    draft: Draft,
    order: Reservation,
    name: String,
    share: String,
    now: String,
    target: String,
    targets: Choices,
    invoice: Option<Invoiced>,
}

async fn asked(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<PlacePage, Failure> {
    let today = farmer.now.today;
    let ((order, offering, name), own, present, head, shares, invoice) = app
        .read(move |c| {
            let row = unplaced::orders(c, &[id])?.remove(&id).ok_or(Failure::NotFound)?;
            let own = placements::shares_of(c, &[id])?.into_iter().next();
            let mut head = animals::alive(c, Some(row.1.species))?;
            let present = match &own {
                Some(share) => Some(animals::get(c, share.animal)?),
                None => None,
            };
            // A weighed animal is offered only when the share hangs on it already.
            if let Some(animal) = &present
                && head.iter().all(|(a, _)| a.id != animal.id)
            {
                let day = match animal.date_id {
                    Some(date) => Some(dates::get(c, date)?.0.kill_on),
                    None => None,
                };
                head.push((animal.clone(), day));
            }
            let ids: Vec<_> = head.iter().map(|(a, _)| a.id).collect();
            let shares = placements::shares_on(c, &ids)?;
            let invoice = placements::invoiced(c, &[id])?.into_iter().next();
            Ok((row, own, present, head, shares, invoice))
        })
        .await?;
    let now = own.as_ref().zip(present).map(|(s, a)| format!("{}, {}", a.name(), place_words(s.place).to_lowercase()));
    Ok(PlacePage {
        frame: farmer.frame(Tab::Orders),
        draft,
        targets: targets(&head, &shares, order.size, order.part, own.as_ref(), today),
        target: own.as_ref().map(|s| target_of(s).to_string()).unwrap_or_default(),
        share: format!("{}, {}", order.size.of(offering.species), offering.season),
        now: now.unwrap_or_default(),
        order,
        name,
        invoice,
    })
}

async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>) -> Answer {
    let mut asked = asked(&farmer, &app, *id, Draft::empty()).await?;
    asked.draft = Draft::empty().with("place", asked.target.clone());
    Ok(page(&asked))
}

async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let typed = form.line("place");
    let to: Option<Target> = typed.parse().ok();
    if to.is_none() && !typed.is_empty() {
        form.problem("place", "Place: choose one of the list.");
    }
    if form.is_refused() {
        return Ok(refused(&asked(&farmer, &app, id, form.into_draft()).await?));
    }
    let done = app.act(&farmer, &key, move |tx, doing| {
        place_shares(tx, doing, &[Move { reservation: id, to, field: "place".into() }])?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            if to.is_some() { "The share has its place." } else { "The share has no place now." },
        )),
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
