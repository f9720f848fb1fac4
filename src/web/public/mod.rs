//! The farm's public page, its estimator and its pictures: nobody signs in, and no cookie is needed.

use super::app::App;
use super::errors::{Answer, error_page};
use super::farmer::Farmer;
use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::{CACHE_CONTROL, HeaderValue};
use actix_web::web;

pub mod estimate;
pub mod frame;
pub mod page;
pub mod pictures;
pub mod reserve;
mod result;
pub mod words;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/farm", web::get().to(page::show));
    cfg.route("/farm/estimate/{offering}", web::get().to(estimate::show));
    cfg.route("/farm/pictures/{name}", web::get().to(pictures::show));
}

/// How long browsers and proxies may keep a public page: what is left changes by the hour.
const A_MINUTE: &str = "public, max-age=60";

/// Who may look now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum May {
    /// Everybody: the page is on.
    Everybody,
    /// It is off, and a farmer looks at what strangers would see.
    Farmer,
    /// It is off.
    Nobody,
}

impl May {
    pub(super) const fn of(is_on: bool, farmer: Option<&Farmer>) -> Self {
        match (is_on, farmer) {
            (true, _) => Self::Everybody,
            (false, Some(_)) => Self::Farmer,
            (false, None) => Self::Nobody,
        }
    }

    /// Lets everybody's page be kept for a minute; what only a farmer sees is not kept at all.
    pub(super) fn keep(self, mut answer: HttpResponse) -> HttpResponse {
        if self == Self::Everybody && answer.status() == StatusCode::OK {
            answer.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static(A_MINUTE));
        }
        answer
    }
}

/// The answer while the page is off, or for an offering that is not on it.
pub(super) fn nothing_here(phone: &str) -> Answer {
    let call = if phone.is_empty() { String::new() } else { format!(" Call {phone} to ask what there is.") };
    Ok(error_page(
        StatusCode::NOT_FOUND,
        "Nothing is shown here now",
        &format!("The farm does not show this page at the moment.{call}"),
        "",
    ))
}

/// Whether a farmer looks: whoever is signed in, or nobody.
pub(super) type Perhaps = Option<Farmer>;

/// The shared parts of the service.
pub(super) type Shared = web::Data<App>;
