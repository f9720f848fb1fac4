//! The button that locks a share where it hangs, and the one that takes the lock off.

use crate::actions::ask_place::lock_place;
use crate::book::ids::ReservationId;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::see_other;
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;

/// Locks with `lock` = `yes`, unlocks with anything else.
///
/// # Errors
/// 404 when there is no such order; 422 when its share has no place.
pub async fn lock(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let lock = form.raw("lock") == "yes";
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            lock_place(tx, doing, id, lock)?;
            Ok(format!("/orders/{id}"))
        })
        .await?;
    let says = if lock { "The share stays where it is, whatever is planned." } else { "The share may be moved again." };
    Ok(notice::with(see_other(&url), says))
}
