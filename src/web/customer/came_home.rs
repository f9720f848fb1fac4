//! The customer tells what came home, after collecting it. Nobody has to.

use super::frame::CustomerFrame;
use super::holder::Holder;
use crate::actions::Failure;
use crate::actions::tell_packaged::{PackagedIn, tell_packaged};
use crate::book::packaged::Told;
use crate::book::{packaged, reservations};
use crate::trade::vocabulary::PackagedBy;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

#[derive(Template)]
#[template(path = "customer/came_home.html")]
struct CameHomePage {
    frame: CustomerFrame,
    draft: Draft,
    unit: &'static str,
    is_collected: bool,
}

fn stored(told: &Told, today: NaiveDate) -> Draft {
    let last = told.customer.as_ref();
    Draft::empty()
        .with("version", last.map_or(0, |l| l.revision).to_string())
        .with("weight", last.and_then(|l| l.weight).map_or(String::new(), |w| w.short()))
        .with("on_day", last.map_or(today, |l| l.on_day).to_string())
}

async fn look(holder: &Holder, app: &App) -> Result<(Told, bool), PageError> {
    let id = holder.order;
    Ok(app
        .read(move |c| {
            let (r, ..) = reservations::get(c, id)?;
            let told = packaged::of(c, &[id])?.remove(&id).unwrap_or_default();
            Ok::<_, Failure>((told, r.collected_at.is_some()))
        })
        .await?)
}

async fn came_home_page(holder: &Holder, app: &App, draft: Option<Draft>) -> Result<CameHomePage, PageError> {
    let (told, is_collected) = look(holder, app).await?;
    let draft = draft.unwrap_or_else(|| stored(&told, holder.now.today));
    Ok(CameHomePage { frame: holder.frame(), draft, unit: holder.unit(), is_collected })
}

/// The form.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    Ok(page(&came_home_page(&holder, &app, None).await?))
}

/// Keeps what the customer tells.
///
/// # Errors
/// When the book cannot be written.
pub async fn save(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_weight("weight", "What it weighed"),
        form.date("on_day", "Weighed on"),
    );
    let (seen, weight, on) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&came_home_page(&holder, &app, Some(draft)).await?)),
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        tell_packaged(tx, doing, order, PackagedBy::Customer, &PackagedIn { weight, on, seen })?;
        Ok("/my".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Thank you, we have it.")),
        Err(Failure::Stale) => {
            let (told, _) = look(&holder, &app).await?;
            let labels = [("weight", "What it weighed"), ("on_day", "Weighed on")];
            let draft = form.into_draft().stale(&stored(&told, holder.now.today), &labels, "/my");
            Ok(refused(&came_home_page(&holder, &app, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&came_home_page(&holder, &app, Some(refusal(&form, f)?)).await?)),
    }
}
