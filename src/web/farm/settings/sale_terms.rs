//! The farm's terms: the words in force, their earlier versions, and a sample to begin from.

use crate::actions::Failure;
use crate::actions::write_terms::write_terms;
use crate::book::sale_terms;
use crate::trade::dates;
use crate::trade::sale_terms::{CAUTION, LONGEST, SAMPLE};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::reserve::terms::Shown;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// The routes; they come before `/settings/{part}`.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/sale-terms", web::get().to(show));
    cfg.route("/settings/sale-terms", web::post().to(save));
    cfg.route("/settings/sale-terms/sample", web::get().to(sample));
    cfg.route("/settings/sale-terms/{number}", web::get().to(version));
}

#[derive(Template)]
#[template(path = "farm/sale_terms/edit.html")]
struct TermsPage {
    frame: Frame,
    draft: Draft,
    lead: String,
    versions: Vec<Link>,
    /// Whether some are in force, so that their public page can be looked at.
    is_used: bool,
    /// Whether the sample can be brought in: nothing is written yet.
    may_begin: bool,
    caution: &'static str,
    longest: usize,
}

#[derive(Template)]
#[template(path = "farm/sale_terms/version.html")]
struct VersionPage {
    frame: Frame,
    terms: Shown,
    by: String,
}

async fn terms_page(farmer: &Farmer, app: &App, draft: Option<Draft>) -> Result<TermsPage, PageError> {
    let versions = app.read(|c| Ok(sale_terms::all(c)?)).await?;
    let last = versions.first();
    let stored = || {
        Draft::empty()
            .with("version", last.map_or(0, |t| t.number).to_string())
            .with("body", last.map(|t| t.body.clone()).unwrap_or_default())
    };
    let in_force = last.filter(|t| !t.body.is_empty());
    Ok(TermsPage {
        frame: farmer.frame(Tab::Settings),
        draft: draft.unwrap_or_else(stored),
        lead: match in_force {
            Some(t) => format!(
                "Version {} of {} is in force. Other words become the next version; orders keep the one they were accepted with.",
                t.number,
                dates::long(t.made_on, farmer.now.today)
            ),
            None => "You have no terms yet. Customers read and accept them before a share is set aside.".into(),
        },
        is_used: in_force.is_some(),
        may_begin: in_force.is_none(),
        versions: versions
            .iter()
            .filter(|t| !t.body.is_empty())
            .map(|t| {
                let words =
                    format!("Version {} of {}, by {}", t.number, dates::long(t.made_on, farmer.now.today), t.made_by);
                Link::new(format!("/settings/sale-terms/{}", t.number), words)
            })
            .collect(),
        caution: CAUTION,
        longest: LONGEST,
    })
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&terms_page(&farmer, &app, None).await?))
}

/// The form with the sample in it; nothing is saved by looking at it.
async fn sample(farmer: Farmer, app: web::Data<App>) -> Answer {
    let mut shown = terms_page(&farmer, &app, None).await?;
    shown.draft = shown.draft.without("body").with("body", SAMPLE);
    Ok(page(&shown))
}

async fn save(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let parts =
        (form.whole_number("version", "Version", 0..=i64::MAX), form.optional_lines("body", "The terms", LONGEST));
    let (seen, body) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&terms_page(&farmer, &app, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        write_terms(tx, doing, seen, &body)?;
        Ok("/settings/sale-terms".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved. What customers accepted before stays as it was.")),
        Err(Failure::Stale) => {
            let stored = terms_page(&farmer, &app, None).await?.draft;
            let draft = form.into_draft().stale(&stored, &[("body", "The terms")], "/settings/sale-terms");
            Ok(refused(&terms_page(&farmer, &app, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&terms_page(&farmer, &app, Some(refusal(&form, f)?)).await?)),
    }
}

async fn version(farmer: Farmer, app: web::Data<App>, number: web::Path<i64>) -> Answer {
    let number = number.into_inner();
    let terms = app.read(move |c| Ok(sale_terms::version(c, number)?)).await?;
    let by = terms.made_by.clone();
    Ok(page(&VersionPage { frame: farmer.frame(Tab::Settings), terms: terms.into(), by }))
}
