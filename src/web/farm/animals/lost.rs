//! Recording that an animal was lost, and telling those whose shares it carried.

use crate::actions::Failure;
use crate::actions::lose_animal::{find_animal, lose_animal, tell_of_loss};
use crate::book::ids::{AnimalId, ReservationId};
use crate::book::rows::animals::Animal;
use crate::book::{animals, placements};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/animals/lost.html")]
struct LostPage {
    frame: Frame,
    draft: Draft,
    animal: Animal,
    owners: Vec<String>,
}

async fn asked(farmer: &Farmer, app: &App, id: AnimalId, draft: Draft) -> Result<LostPage, Failure> {
    let (animal, shares) = app.read(move |c| Ok((animals::get(c, id)?, placements::shares_on(c, &[id])?))).await?;
    let owners = shares.into_iter().map(|s| format!("{}, {} (order {})", s.name, s.size.label(), s.number)).collect();
    Ok(LostPage { frame: farmer.frame(Tab::Animals), draft, animal, owners })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let mut asked = asked(&farmer, &app, *id, Draft::empty()).await?;
    asked.draft =
        Draft::empty().with("version", asked.animal.version.to_string()).with("lost_on", farmer.now.today.to_string());
    Ok(page(&asked))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.date("lost_on", "Lost on"),
        form.optional_text("reason", "What happened", 200),
    );
    let (version, lost_on, reason) = match form.finish(parts) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&asked(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        lose_animal(tx, doing, id, version, lost_on, &reason)?;
        Ok(format!("/animals/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The loss is recorded. Nothing of it is billed.")),
        Err(f) => Ok(refused(&asked(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

pub(super) async fn found(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).ok_or(Failure::Stale)?;
    let done = app.act(&farmer, &key, move |tx, doing| {
        find_animal(tx, doing, id, version)?;
        Ok(format!("/animals/{id}"))
    });
    Ok(notice::with(see_other(&done.await?), "The loss is taken back. Its shares have to be given their places again."))
}

pub(super) async fn tell(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(AnimalId, ReservationId)>,
    sent: Sent,
) -> Answer {
    let (id, order) = *ids;
    let (form, key) = sent.with_key();
    let back = form.line("back");
    let done = app.act(&farmer, &key, move |tx, doing| {
        tell_of_loss(tx, doing, id, order)?;
        Ok(if back.starts_with("/dates/") { back.clone() } else { format!("/animals/{id}") })
    });
    Ok(notice::with(see_other(&done.await?), "The message is in the outbox."))
}
