//! A picture of the public page.

use super::{May, Perhaps, Shared};
use crate::actions::Failure;
use crate::book::public_page;
use crate::web::errors::Answer;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use actix_web::{HttpRequest, HttpResponse, web};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// A picture's address: it changes with the picture, so that an old one is never shown for a new one.
pub fn address(digest: &str) -> String {
    format!("/farm/pictures/{digest}.jpg")
}

/// The picture; kept for a day, so that one that was taken off is gone everywhere tomorrow.
///
/// # Errors
/// 404 when there is none, or while the page is off.
pub async fn show(req: HttpRequest, app: Shared, farmer: Perhaps, name: web::Path<String>) -> Answer {
    let digest = name.strip_suffix(".jpg").filter(|d| d.len() == 32 && d.bytes().all(|b| b.is_ascii_hexdigit()));
    let Some(digest) = digest.map(str::to_string) else { return Err(Failure::NotFound.into()) };
    let tag = format!("\"{digest}\"");
    let (is_on, body) = app
        .read(move |c| {
            let is_on = public_page::get(c)?.is_some_and(|p| p.is_on);
            Ok((is_on, public_page::body(c, &digest)?))
        })
        .await?;
    let keep = match May::of(is_on, farmer.as_ref()) {
        May::Everybody => "public, max-age=86400",
        May::Farmer => "private, max-age=300",
        May::Nobody => return Err(Failure::NotFound.into()),
    };
    let known = req.headers().get(IF_NONE_MATCH).and_then(|v| v.to_str().ok());
    let known = known.is_some_and(|v| v.split(',').any(|one| one.trim().trim_start_matches("W/") == tag));
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer.insert_header((ETAG, tag)).insert_header((CACHE_CONTROL, keep));
    if known {
        return Ok(answer.finish());
    }
    let body = STANDARD.decode(body).map_err(|e| Failure::Unexpected(format!("a picture cannot be read: {e}")))?;
    Ok(answer.insert_header((CONTENT_TYPE, "image/jpeg")).body(body))
}
