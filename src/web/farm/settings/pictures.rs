//! The pictures of the public page: added one by one, described, put in order, taken off.

use super::public::{HOME, form_page};
use crate::actions::Failure;
use crate::actions::prepare_picture::{MOST_BYTES, prepare};
use crate::actions::public_page::{LONGEST_ALT, MOST_PICTURES, PictureIn, add_picture, arrange_pictures};
use crate::book::ids::PictureId;
use crate::book::public_page::Shown;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{refused, see_other};
use crate::web::notice;
use crate::web::public::pictures::address;
use crate::web::sent::{Sent, refusal};
use crate::web::upload;
use actix_web::{HttpRequest, web};

/// A picture in the list: what was typed about it, or what is stored.
pub(super) struct Line {
    pub(super) id: PictureId,
    pub(super) src: String,
    pub(super) width: i64,
    pub(super) height: i64,
    pub(super) alt: String,
    pub(super) place: String,
    pub(super) problem: String,
}

/// The pictures as the page lists them.
pub(super) fn lines(pictures: &[Shown], draft: &Draft) -> Vec<Line> {
    let line = |(n, shown): (usize, &Shown)| {
        let id = shown.picture.id;
        let typed = |name: String| Some(draft.val(&name).to_string()).filter(|v| !v.is_empty());
        let size = shown.sizes.first()?;
        Some(Line {
            src: address(&size.digest),
            width: size.width,
            height: size.height,
            alt: typed(format!("alt-{id}")).unwrap_or_else(|| shown.picture.alt.clone()),
            place: typed(format!("place-{id}")).unwrap_or_else(|| (n + 1).to_string()),
            problem: draft.err(format!("alt-{id}")).to_string(),
            id,
        })
    };
    pictures.iter().enumerate().filter_map(line).collect()
}

/// Changes words and order, and takes pictures off.
pub(super) async fn arrange(req: HttpRequest, farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let ids = form.ids("pictures", "Pictures").unwrap_or_default();
    let mut input = Vec::new();
    for id in ids.into_iter().take(MOST_PICTURES) {
        let remove = form.tick(&format!("remove-{id}"));
        let alt = form.optional_text(&format!("alt-{id}"), "What is to be seen", LONGEST_ALT);
        let place = form.whole_number(&format!("place-{id}"), "Place", 1..=99);
        if let (Some(alt), Some(place)) = (alt, place) {
            input.push(PictureIn { id: PictureId(id), alt, place, remove });
        }
    }
    let input = match form.finish((Some(input),)) {
        Ok((input,)) => input,
        Err(draft) => return Ok(refused(&form_page(&req, &farmer, &app, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        arrange_pictures(tx, doing, &input)?;
        Ok(HOME.into())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let says = "A picture was taken off elsewhere in between. Look the list over, then save again.";
            Ok(notice::with(see_other(HOME), says))
        }
        Err(f) => Ok(refused(&form_page(&req, &farmer, &app, Some(refusal(&form, f)?)).await?)),
    }
}

/// Adds a picture.
pub(super) async fn add(req: HttpRequest, farmer: Farmer, app: web::Data<App>, body: web::Payload) -> Answer {
    let mut sent = upload::read(&req, body, "picture", MOST_BYTES).await?;
    let alt = sent.form.text("alt", "What is to be seen", LONGEST_ALT);
    let picture = if sent.is_too_large {
        let mb = MOST_BYTES / 1024 / 1024;
        sent.form.problem("picture", format!("The picture has more than {mb} MB. Send a smaller one."));
        None
    } else {
        let _one = app.drawing.acquire().await.map_err(|e| Failure::Unexpected(e.to_string()))?;
        let file = std::mem::take(&mut sent.file);
        match web::block(move || prepare(&file)).await.map_err(|e| Failure::Unexpected(e.to_string()))? {
            Ok(picture) => Some(picture),
            Err(says) => {
                sent.form.problem("picture", says);
                None
            }
        }
    };
    let (alt, picture) = match sent.form.finish((alt, picture)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&req, &farmer, &app, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &sent.key, move |tx, doing| {
        add_picture(tx, doing, &alt, &picture)?;
        Ok(HOME.into())
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The picture is on the page. What a camera wrote into it is gone."))
        }
        Err(f) => Ok(refused(&form_page(&req, &farmer, &app, Some(refusal(&sent.form, f)?)).await?)),
    }
}
