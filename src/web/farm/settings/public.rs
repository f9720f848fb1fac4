//! The farm's public page, from the farm's side: the switch, its words, the offerings on it.

use super::pictures::{Line, lines};
use crate::actions::Failure;
use crate::actions::public_page::{LONGEST_HEADLINE, LONGEST_WORDS, MOST_PICTURES, PageIn, change_page};
use crate::book::ids::OfferingId;
use crate::book::public_page::Shown;
use crate::book::rows::public::PublicPage;
use crate::book::rows::selling::Offering;
use crate::book::{offerings, public_page};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::{HttpRequest, web};
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/public", web::get().to(show));
    cfg.route("/settings/public", web::post().to(save));
    cfg.route("/settings/public/pictures", web::post().to(super::pictures::arrange));
    cfg.route("/settings/public/pictures/add", web::post().to(super::pictures::add));
}

/// The page's own address.
pub(super) const HOME: &str = "/settings/public";

#[derive(Template)]
#[template(path = "farm/public.html")]
pub(super) struct PublicPageForm {
    frame: Frame,
    draft: Draft,
    is_on: bool,
    address: String,
    offerings: Choices,
    pictures: Vec<Line>,
    is_full: bool,
    longest_headline: usize,
    longest_words: usize,
}

fn stored(page: Option<&PublicPage>, chosen: &[OfferingId]) -> Draft {
    let draft = Draft::empty()
        .with("version", page.map_or(0, |p| p.version).to_string())
        .with_some("is_on", page.filter(|p| p.is_on).map(|_| "yes"))
        .with("headline", page.map_or(String::new(), |p| p.headline.clone()))
        .with("words", page.map_or(String::new(), |p| p.words.clone()));
    chosen.iter().fold(draft, |draft, id| draft.with("offerings", id.to_string()))
}

/// What the page is made of besides what was typed.
struct Seen {
    page: Option<PublicPage>,
    chosen: Vec<OfferingId>,
    open: Vec<Offering>,
    pictures: Vec<Shown>,
}

async fn look(app: &App) -> Result<Seen, PageError> {
    let seen = app.read(|c| {
        let open = offerings::open(c)?;
        let mut chosen = public_page::chosen(c)?;
        chosen.retain(|id| open.iter().any(|o| o.id == *id));
        Ok(Seen { page: public_page::get(c)?, chosen, open, pictures: public_page::pictures(c)? })
    });
    Ok(seen.await?)
}

/// The page with what was typed, or with what is stored where nothing was.
///
/// # Errors
/// When the book cannot be read.
pub(super) async fn form_page(
    req: &HttpRequest,
    farmer: &Farmer,
    app: &App,
    draft: Option<Draft>,
) -> Result<PublicPageForm, PageError> {
    let seen = look(app).await?;
    let kept = stored(seen.page.as_ref(), &seen.chosen);
    let draft = match draft {
        // One of the other two forms was sent: this one shows what is stored.
        Some(typed) if typed.val("version").is_empty() => kept.under(typed),
        Some(typed) => typed,
        None => kept,
    };
    Ok(PublicPageForm {
        frame: farmer.frame(Tab::Settings),
        is_on: seen.page.as_ref().is_some_and(|p| p.is_on),
        address: format!("{}/farm", app.base(req)),
        offerings: seen
            .open
            .iter()
            .map(|o| (o.id.to_string(), format!("{}, {}", capital(o.species.label()), o.season)))
            .collect(),
        is_full: seen.pictures.len() >= MOST_PICTURES,
        pictures: lines(&seen.pictures, &draft),
        draft,
        longest_headline: LONGEST_HEADLINE,
        longest_words: LONGEST_WORDS,
    })
}

async fn show(req: HttpRequest, farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&form_page(&req, &farmer, &app, None).await?))
}

fn read(form: &mut FormIn) -> Result<(i64, PageIn), Draft> {
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_text("headline", "Headline", LONGEST_HEADLINE),
        form.optional_lines("words", "Your words", LONGEST_WORDS),
        form.ids("offerings", "Offerings"),
    );
    let (version, headline, words, ids) = form.finish(parts)?;
    let offerings = ids.into_iter().map(OfferingId).collect();
    Ok((version, PageIn { is_on: form.tick("is_on"), headline, words, offerings }))
}

async fn save(req: HttpRequest, farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let (version, input) = match read(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&form_page(&req, &farmer, &app, Some(draft.or("version", "0"))).await?)),
    };
    let is_on = input.is_on;
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_page(tx, doing, version, &input)?;
        Ok(HOME.into())
    });
    match done.await {
        Ok(url) => {
            let says = if is_on { "Saved. Everybody can read the page." } else { "Saved. The page is off." };
            Ok(notice::with(see_other(&url), says))
        }
        Err(Failure::Stale) => {
            let seen = look(&app).await?;
            let theirs = stored(seen.page.as_ref(), &seen.chosen);
            let draft = form.into_draft().stale(&theirs, LABELS, HOME);
            Ok(refused(&form_page(&req, &farmer, &app, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&form_page(&req, &farmer, &app, Some(refusal(&form, f)?)).await?)),
    }
}

const LABELS: &[(&str, &str)] =
    &[("is_on", "Shown to everybody"), ("headline", "Headline"), ("words", "Your words"), ("offerings", "Offerings")];
