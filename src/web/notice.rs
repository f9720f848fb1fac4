//! One sentence about what was just done, carried over the redirect in a cookie of its own and gone on the next page.

use super::look::{Notice, NoticeKind};
use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::{HttpRequest, HttpResponse};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

const NAME: &str = "gambrel_notice";
/// The longest notice carried, in bytes.
const LONGEST: usize = 600;

/// The notice this request brings, if any.
pub fn read(req: &HttpRequest) -> Option<Notice> {
    let cookie = req.cookie(NAME)?;
    let bytes = URL_SAFE_NO_PAD.decode(cookie.value()).ok()?;
    let text = String::from_utf8(bytes).ok().filter(|t| !t.is_empty() && t.len() <= LONGEST)?;
    Some(Notice { kind: NoticeKind::Ok, text })
}

/// Adds a notice to a redirect.
pub fn with(mut answer: HttpResponse, text: &str) -> HttpResponse {
    let text: String = text.chars().take(150).collect();
    let cookie = Cookie::build(NAME, URL_SAFE_NO_PAD.encode(text))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .max_age(Duration::seconds(60))
        .finish();
    // A notice that cannot be carried is not worth failing for: the page itself shows what was saved.
    let _ = answer.add_cookie(&cookie);
    answer
}

/// Takes the notice off, once it was shown.
pub fn shown() -> Cookie<'static> {
    let mut cookie = Cookie::build(NAME, "").path("/").http_only(true).same_site(SameSite::Lax).finish();
    cookie.make_removal();
    cookie
}

/// The cookie's name, for the guard.
pub const fn name() -> &'static str {
    NAME
}
