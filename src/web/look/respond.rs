//! Templates to responses.

use actix_web::HttpResponse;
use actix_web::body::MessageBody;
use actix_web::http::StatusCode;
use actix_web::http::header::{ContentDisposition, ContentType, DispositionParam, DispositionType, LOCATION};
use askama::Template;

/// A page, 200.
pub fn page(template: &impl Template) -> HttpResponse {
    page_with(StatusCode::OK, template)
}

/// The page of a form that was refused, 422: what was typed stands in it and nothing has changed.
pub fn refused(template: &impl Template) -> HttpResponse {
    page_with(StatusCode::UNPROCESSABLE_ENTITY, template)
}

/// A page with a status of its own, such as 404.
pub fn page_with(status: StatusCode, template: &impl Template) -> HttpResponse {
    match template.render() {
        Ok(html) => HttpResponse::build(status).content_type(ContentType::html()).body(html),
        Err(error) => {
            tracing::error!(%error, "a page could not be made");
            HttpResponse::InternalServerError()
                .content_type(ContentType::plaintext())
                .body("This page could not be made. Nothing was changed by asking for it. Go back and try again.")
        }
    }
}

/// On to another page of ours after something was done, 303.
///
/// Only an address on this service is followed; anything else leads to the first page.
pub fn see_other(url: &str) -> HttpResponse {
    let ours = url.starts_with('/') && !url.starts_with("//") && !url.contains(['\\', '\r', '\n']);
    HttpResponse::SeeOther().insert_header((LOCATION, if ours { url } else { "/" })).finish()
}

/// A file to keep under this name, which is one of ours.
pub fn attachment(name: &str, kind: &'static str, body: impl MessageBody + 'static) -> HttpResponse {
    HttpResponse::Ok()
        .content_type(kind)
        .insert_header(ContentDisposition {
            disposition: DispositionType::Attachment,
            parameters: vec![DispositionParam::Filename(name.to_string())],
        })
        .body(body)
}

/// The kind of a table.
pub const CSV: &str = "text/csv; charset=utf-8";

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::body::to_bytes;

    #[derive(Template)]
    #[template(source = "<p>{{ name }}</p>", ext = "html")]
    struct Page<'a> {
        name: &'a str,
    }

    #[actix_web::test]
    async fn a_page_is_escaped_html_in_utf_8() {
        let answer = refused(&Page { name: "<Þóra & co>" });
        assert_eq!(answer.status(), 422);
        assert_eq!(answer.headers().get("content-type").unwrap(), "text/html; charset=utf-8");
        assert_eq!(to_bytes(answer.into_body()).await.unwrap(), "<p>&#60;Þóra &#38; co&#62;</p>");
    }

    #[test]
    fn only_our_own_addresses_are_followed() {
        let to = |url| see_other(url).headers().get(LOCATION).unwrap().to_str().unwrap().to_string();
        assert_eq!(to("/orders/7?page=2"), "/orders/7?page=2");
        for foreign in ["https://else.example/", "//else.example", "/\\else.example", "orders", ""] {
            assert_eq!(to(foreign), "/", "{foreign}");
        }
    }
}
