//! Pages for what went wrong: not signed in, not found, not allowed, stale, unexpected.

use super::look::respond::{page_with, see_other};
use super::look::{Frame, Tab};
use crate::actions::Failure;
use actix_web::http::StatusCode;
use actix_web::{HttpResponse, ResponseError};
use askama::Template;

/// What a handler answers.
pub type Answer = Result<HttpResponse, PageError>;

/// Why a page is not shown.
#[derive(Debug)]
pub enum PageError {
    /// Sign in first, then go on to this address (empty: the first page).
    SignIn(String),
    /// Open the private link of the order first.
    NoLink,
    /// Open the private link of the processing date first.
    NoPlantLink,
    /// Something else comes first.
    Elsewhere(String),
    /// The action's own reason.
    Failed(Failure),
    /// Too many tries.
    Slow,
    /// What was sent is not one of our forms.
    BadRequest(&'static str),
}

impl From<Failure> for PageError {
    fn from(f: Failure) -> Self {
        Self::Failed(f)
    }
}

impl std::fmt::Display for PageError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::SignIn(_) => f.write_str("not signed in"),
            Self::NoLink => f.write_str("no private link was opened"),
            Self::NoPlantLink => f.write_str("no private link of a date was opened"),
            Self::Elsewhere(to) => write!(f, "{to} comes first"),
            Self::Failed(e) => e.fmt(f),
            Self::Slow => f.write_str("too many tries"),
            Self::BadRequest(what) => f.write_str(what),
        }
    }
}

#[derive(Template)]
#[template(path = "account/error.html")]
struct ErrorPage {
    frame: Frame,
    heading: String,
    says: String,
    number: String,
}

/// An error page in the plain frame.
pub fn error_page(status: StatusCode, heading: &str, says: &str, number: &str) -> HttpResponse {
    page_with(
        status,
        &ErrorPage {
            frame: Frame::new("Gambrel", Tab::None),
            heading: heading.into(),
            says: says.into(),
            number: number.into(),
        },
    )
}

impl ResponseError for PageError {
    fn status_code(&self) -> StatusCode {
        match self {
            Self::SignIn(_) | Self::NoLink | Self::NoPlantLink | Self::Elsewhere(_) => StatusCode::SEE_OTHER,
            Self::Failed(Failure::NotFound) => StatusCode::NOT_FOUND,
            Self::Failed(Failure::Forbidden) => StatusCode::FORBIDDEN,
            Self::Failed(Failure::Stale) => StatusCode::CONFLICT,
            Self::Failed(Failure::Refused(_)) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Failed(Failure::Unexpected(_) | Failure::Store(_)) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::Slow => StatusCode::TOO_MANY_REQUESTS,
            Self::BadRequest(_) => StatusCode::BAD_REQUEST,
        }
    }

    fn error_response(&self) -> HttpResponse {
        let status = self.status_code();
        match self {
            Self::SignIn(next) if next.is_empty() || next == "/" => see_other("/sign-in"),
            Self::SignIn(next) => see_other(&format!(
                "/sign-in?next={}",
                form_urlencoded::byte_serialize(next.as_bytes()).collect::<String>()
            )),
            Self::NoLink => see_other("/lost-link"),
            Self::NoPlantLink => see_other("/lost-plant-link"),
            Self::Elsewhere(to) => see_other(to),
            Self::Failed(Failure::NotFound) => error_page(
                status,
                "There is no such page",
                "The address may be old or mistyped. Nothing was changed.",
                "",
            ),
            Self::Failed(Failure::Forbidden) => error_page(
                status,
                "This account may not do that",
                "Ask the farmer who made your account. Nothing was changed.",
                "",
            ),
            Self::Failed(Failure::Stale) => error_page(
                status,
                "Somebody else saved this in between",
                "Nothing of yours was saved, so that theirs is not overwritten. Go back, load the page again and look at what changed.",
                "",
            ),
            Self::Failed(f @ Failure::Refused(_)) => error_page(status, "That cannot be done", &f.to_string(), ""),
            Self::Failed(f @ (Failure::Unexpected(_) | Failure::Store(_))) => {
                let number = crate::secret::token().unwrap_or_default().chars().take(8).collect::<String>();
                tracing::error!(fault = %number, error = %f, "a request failed");
                error_page(
                    status,
                    "Something failed on our side",
                    "Nothing was changed by this request. Go back and try again; if it happens again, look in the log for this number.",
                    &number,
                )
            }
            Self::Slow => error_page(status, "Too many tries", "Wait a quarter of an hour, then try again.", ""),
            Self::BadRequest(what) => error_page(status, "That was not one of our forms", what, ""),
        }
    }
}
