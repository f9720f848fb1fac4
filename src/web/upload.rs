//! A form with one file in it (`multipart/form-data`), read with limits. Called by a handler that knows already who is asking, so
//! that nothing is read from strangers.

use super::errors::PageError;
use super::look::FORM_KEY;
use super::look::form::FormIn;
use actix_multipart::Multipart;
use actix_web::error::PayloadError;
use actix_web::{HttpMessage, HttpRequest, web};
use futures_util::StreamExt;
use std::time::Duration;

/// The most bytes all of it may have; more is not read to its end.
const MOST_BYTES: usize = 48 * 1024 * 1024;
/// The most fields.
const MOST_FIELDS: usize = 40;
/// The most bytes of a field that is no file.
const LONGEST_TEXT: usize = 16 * 1024;
/// The longest it may take to come in.
const LONGEST: Duration = Duration::from_secs(180);

/// The fields as they were sent, and the file.
pub struct Uploaded {
    /// The fields without the file.
    pub form: FormIn,
    /// The one-use form key.
    pub key: String,
    /// The file; empty when none was chosen.
    pub file: Vec<u8>,
    /// What the sender calls it, without folders and control characters; may be empty. It names nothing on this machine.
    pub file_name: String,
    /// Whether there was a file larger than is taken; it was thrown away.
    pub is_too_large: bool,
}

/// Reads a form whose field `name` is a file of at most `most` bytes.
///
/// # Errors
/// 400 for anything that is not such a form, breaks off, or is far too large.
pub async fn read(req: &HttpRequest, payload: web::Payload, name: &str, most: usize) -> Result<Uploaded, PageError> {
    let is_form = req.content_type().eq_ignore_ascii_case("multipart/form-data");
    if !is_form {
        return Err(PageError::BadRequest("Open the page again and use the form on it."));
    }
    let mut total = 0_usize;
    let bounded = payload.map(move |chunk| {
        let chunk = chunk?;
        total = total.saturating_add(chunk.len());
        if total > MOST_BYTES { Err(PayloadError::Overflow) } else { Ok(chunk) }
    });
    let parts = Multipart::new(req.headers(), bounded);
    match tokio::time::timeout(LONGEST, fields(parts, name, most)).await {
        Ok(read) => read,
        Err(_) => Err(PageError::BadRequest("The file took too long to come in. Send a smaller one.")),
    }
}

async fn fields(mut parts: Multipart, name: &str, most: usize) -> Result<Uploaded, PageError> {
    let broken = || PageError::BadRequest("The form broke off, or was larger than the service reads. Send it again.");
    let (mut pairs, mut file, mut is_too_large) = (Vec::new(), Vec::new(), false);
    let mut file_name = String::new();
    while let Some(part) = parts.next().await {
        let mut part = part.map_err(|_| broken())?;
        let Some(field) = part.name().map(str::to_string) else { return Err(broken()) };
        if pairs.len() >= MOST_FIELDS {
            return Err(broken());
        }
        if field == name {
            let called = part.content_disposition().and_then(|c| c.get_filename()).unwrap_or("");
            file_name = last_piece(called);
            match part.bytes(most).await {
                Ok(bytes) => file = bytes.map_err(|_| broken())?.to_vec(),
                Err(_) => is_too_large = true,
            }
        } else {
            let bytes = part.bytes(LONGEST_TEXT).await.map_err(|_| broken())?.map_err(|_| broken())?;
            pairs.push((field, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    let form = FormIn::new(pairs);
    let key = form.raw(FORM_KEY).to_string();
    Ok(Uploaded { form, key, file, file_name, is_too_large })
}

/// The last piece of a path, at most 80 characters.
fn last_piece(path: &str) -> String {
    let piece = path.rsplit(['/', '\\']).next().unwrap_or("");
    piece.chars().filter(|c| !c.is_control()).take(80).collect::<String>().trim().to_string()
}
