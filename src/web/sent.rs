//! The body of a form, read with a limit.

use super::errors::PageError;
use super::look::FORM_KEY;
use super::look::draft::Draft;
use super::look::form::FormIn;
use crate::actions::Failure;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};
use std::future::Future;
use std::pin::Pin;

/// The most bytes a form may have.
pub const MOST_BYTES: usize = 512 * 1024;

/// A form as it was sent.
#[derive(Debug, Clone)]
pub struct Sent(pub FormIn);

impl Sent {
    /// The form and its one-use key.
    pub fn with_key(self) -> (FormIn, String) {
        let key = self.0.raw(FORM_KEY).to_string();
        (self.0, key)
    }
}

impl FromRequest for Sent {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let is_form = req.content_type().eq_ignore_ascii_case("application/x-www-form-urlencoded");
        let body = web::Bytes::from_request(req, payload);
        Box::pin(async move {
            if !is_form {
                return Err(PageError::BadRequest("Open the page again and use the form on it."));
            }
            let body = body.await.map_err(|_| {
                PageError::BadRequest(
                    "The form was larger than the service reads, or broke off. Send it again, in parts if it is long.",
                )
            })?;
            Ok(Self(FormIn::parse(&body).map_err(PageError::BadRequest)?))
        })
    }
}

/// The form to show again after an action refused it; other failures become pages of their own.
///
/// # Errors
/// [`PageError`] for anything but a refusal.
pub fn refusal(form: &FormIn, failure: Failure) -> Result<Draft, PageError> {
    match failure {
        Failure::Refused(problems) => {
            let mut form = form.clone();
            for p in problems.0 {
                form.problem(&p.field, p.sentence);
            }
            Ok(form.into_draft())
        }
        other => Err(PageError::Failed(other)),
    }
}
