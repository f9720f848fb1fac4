//! The button that tells every owner on a date which day it is.

use crate::actions::tell_owners::tell_owners;
use crate::book::ids::DateId;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::see_other;
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;

/// Puts the messages into the outbox. Leads there when any was written, else back to the date.
pub(super) async fn tell(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (_, key) = sent.with_key();
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            Ok(match tell_owners(tx, doing, id)? {
                0 => format!("/dates/{id}"),
                _ => "/outbox".to_string(),
            })
        })
        .await?;
    let says = if url == "/outbox" {
        "The messages to the owners are in the Outbox."
    } else {
        "Nobody is left to tell: every owner has these words already."
    };
    Ok(notice::with(see_other(&url), says))
}
