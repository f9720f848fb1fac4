//! The farm's words for bills of sale.

use crate::actions::Failure;
use crate::actions::make_bill_of_sale::write_bill_of_sale;
use crate::book::bills_of_sale;
use crate::trade::bill_of_sale::{CAUTION, LONGEST, SAMPLE};
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

/// The routes; they come before `/settings/{part}`.
pub(super) fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/bill-of-sale", web::get().to(show));
    cfg.route("/settings/bill-of-sale", web::post().to(save));
}

#[derive(Template)]
#[template(path = "farm/bill_of_sale_words.html")]
struct WordsPage {
    frame: Frame,
    draft: Draft,
    is_sample: bool,
    caution: &'static str,
    longest: usize,
}

async fn stored(app: &App) -> Result<(Draft, bool), PageError> {
    let text = app.read(|c| Ok(bills_of_sale::text(c)?)).await?;
    let is_sample = text.is_none();
    let (body, version) = text.unwrap_or_else(|| (SAMPLE.to_string(), 0));
    Ok((Draft::empty().with("version", version.to_string()).with("body", body), is_sample))
}

fn words_page(farmer: &Farmer, draft: Draft, is_sample: bool) -> WordsPage {
    WordsPage { frame: farmer.frame(Tab::Settings), draft, is_sample, caution: CAUTION, longest: LONGEST }
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (draft, is_sample) = stored(&app).await?;
    Ok(page(&words_page(&farmer, draft, is_sample)))
}

async fn save(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), form.lines("body", "The words", LONGEST));
    let (seen, body) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&words_page(&farmer, draft, false))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        write_bill_of_sale(tx, doing, &body, seen)?;
        Ok("/settings/bill-of-sale".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved. Bills made before stay as they are.")),
        Err(Failure::Stale) => {
            let (now, is_sample) = stored(&app).await?;
            let draft = form.into_draft().stale(&now, &[("body", "The words")], "/settings/bill-of-sale");
            Ok(refused(&words_page(&farmer, draft, is_sample)))
        }
        Err(f) => Ok(refused(&words_page(&farmer, refusal(&form, f)?, false))),
    }
}
