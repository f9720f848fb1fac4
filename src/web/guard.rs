//! What holds for every request: no writing from other sites, headers on every answer, a line in the log, and a count for the monitor.

use super::app::App;
use super::errors::error_page;
use super::notice;
use actix_web::body::{BoxBody, MessageBody, None as NoBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::{Error, web};
use std::time::Instant;

/// Pages may load our own style sheet, script and pictures, and nothing else; no inline script, no framing.
const CSP: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'";

/// The one wrapper around every route.
///
/// # Errors
/// None of its own; those of the wrapped handler become pages before they reach it.
pub async fn guard(
    mut req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let began = Instant::now();
    let app = req.app_data::<web::Data<App>>().cloned();
    let public = app.as_ref().and_then(|a| a.config.public_url.clone());
    let https = app.as_ref().is_some_and(|a| a.config.is_https());
    let (method, path) = (req.method().clone(), req.path().to_string());
    let had_notice = req.cookie(notice::name()).is_some();

    // HEAD asks what GET would answer, without its body. Routes know GET only.
    let is_head = method == Method::HEAD;
    if is_head {
        req.head_mut().method = Method::GET;
    }

    let is_public = path == "/farm" || path.starts_with("/farm/");
    let is_too_much = |a: &web::Data<App>| is_public && !a.may_look(&a.visitor(req.request()));

    let mut answer = if app.as_ref().is_some_and(is_too_much) {
        let page = error_page(
            StatusCode::TOO_MANY_REQUESTS,
            "That was quick",
            "More pages were asked for from your address than anybody can read. Wait a minute, then load the page again.",
            "",
        );
        let mut answer = req.into_response(page);
        answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("60"));
        answer
    } else if req.method().is_safe() || is_from_our_pages(req.headers(), public.as_deref()) {
        next.call(req).await?.map_into_boxed_body()
    } else {
        let page = error_page(
            StatusCode::FORBIDDEN,
            "This came from another site",
            "Nothing was changed. Open the farm's own page and save it there.",
            "",
        );
        req.into_response(page)
    };

    let is_asset = path.starts_with("/assets/");
    let status = answer.status();
    // What strangers read is the same for everybody, and says itself how long it may be kept.
    let is_kept = is_public && answer.headers().contains_key(header::CACHE_CONTROL);
    let shows_page = method == Method::GET && status == StatusCode::OK && !is_asset && !is_kept;
    if had_notice && shows_page && !path.contains("/suggest") {
        // A notice that cannot be taken off runs out by itself after a minute.
        let _ = answer.response_mut().add_cookie(&notice::shown());
    }
    let headers = answer.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CSP),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if https {
        headers
            .insert(header::STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000; includeSubDomains"));
    }
    if !is_asset && !is_kept {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    // Only the path is logged: queries and forms may hold names, and links hold tokens.
    let logged = ["/start/", "/sign-in/new/", "/c/", "/p/", "/farm/confirm/", "/calendar/"]
        .iter()
        .find(|p| path.starts_with(**p))
        .map_or(path.clone(), |p| format!("{p}…"));
    let took = began.elapsed();
    if let Some(app) = &app {
        app.figures.answered(status.as_u16(), took);
    }
    tracing::info!(method = %method, path = %logged, status = status.as_u16(), millis = took.as_millis() as u64, "request");
    // Without a length: what this body would have after packing is not known here.
    Ok(if is_head { answer.map_body(|_, _| BoxBody::new(NoBody::new())) } else { answer })
}

/// Whether a writing request comes from one of our own pages: by `Sec-Fetch-Site`, else by `Origin`; with neither it does not.
pub fn is_from_our_pages(headers: &HeaderMap, public_url: Option<&str>) -> bool {
    let text = |name: HeaderName| headers.get(name).and_then(|v| v.to_str().ok());
    if let Some(site) = text(HeaderName::from_static("sec-fetch-site")) {
        return site == "same-origin" || site == "none";
    }
    let Some(origin) = text(header::ORIGIN) else { return false };
    match public_url {
        Some(url) => origin == url,
        None => text(header::HOST).is_some_and(|host| origin.split_once("://").is_some_and(|(_, o)| o == host)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(k, v)| (HeaderName::from_static(k), HeaderValue::from_static(v))).collect()
    }

    #[test]
    fn only_our_own_pages_may_write() {
        for (pairs, public, want) in [
            (vec![("sec-fetch-site", "same-origin")], None, true),
            (vec![("sec-fetch-site", "none")], None, true),
            (vec![("sec-fetch-site", "same-site")], None, false),
            (
                vec![("sec-fetch-site", "cross-site"), ("origin", "http://farm.example"), ("host", "farm.example")],
                None,
                false,
            ),
            (vec![("origin", "http://farm.example"), ("host", "farm.example")], None, true),
            (vec![("origin", "http://evil.example"), ("host", "farm.example")], None, false),
            (vec![("origin", "null"), ("host", "farm.example")], None, false),
            (vec![("origin", "https://farm.example"), ("host", "127.0.0.1:8080")], Some("https://farm.example"), true),
            (vec![("origin", "http://farm.example"), ("host", "farm.example")], Some("https://farm.example"), false),
            (vec![("host", "farm.example")], None, false),
        ] {
            assert_eq!(is_from_our_pages(&headers(&pairs), public), want, "{pairs:?}");
        }
    }
}
