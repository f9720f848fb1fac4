//! The style sheet, the script and the icon: embedded in the binary, served under addresses that change when they do.

use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH, X_CONTENT_TYPE_OPTIONS};
use actix_web::{HttpRequest, HttpResponse, web};

#[derive(rust_embed::RustEmbed)]
#[folder = "assets/"]
#[include = "*.css"]
#[include = "*.js"]
#[include = "*.svg"]
#[exclude = "fonts/*"]
struct Files;

/// The first 8 hexadecimal digits of a file's SHA-256.
fn version(file: &rust_embed::EmbeddedFile) -> String {
    file.metadata.sha256_hash().iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}

/// The address of a file of `assets/`: `asset_url("look.css")` is `/assets/look.css?v=1a2b3c4d`.
pub fn asset_url(name: &str) -> String {
    match Files::get(name) {
        Some(file) => format!("/assets/{name}?v={}", version(&file)),
        None => format!("/assets/{name}"),
    }
}

/// Serves `GET /assets/{name}`: for good when asked for by its version, for five minutes otherwise; 304 when known.
pub async fn serve(request: HttpRequest, name: web::Path<String>) -> HttpResponse {
    // A debug build reads from the folder, so a name that climbs out of it is turned away first.
    let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'-' | b'_'));
    let Some(file) = Some(name.as_str()).filter(|_| plain).and_then(Files::get) else {
        return HttpResponse::NotFound().content_type("text/plain; charset=utf-8").body("There is no such file.");
    };
    let version = version(&file);
    let tag = format!("\"{version}\"");
    let lasting = request.query_string() == format!("v={version}");
    let keep = if lasting { "public, max-age=31536000, immutable" } else { "public, max-age=300" };
    let known = request.headers().get(IF_NONE_MATCH).and_then(|value| value.to_str().ok()).is_some_and(|value| {
        value.split(',').any(|one| one.trim().trim_start_matches("W/") == tag || one.trim() == "*")
    });
    let mut response = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    response
        .insert_header((ETAG, tag))
        .insert_header((CACHE_CONTROL, keep))
        .insert_header((X_CONTENT_TYPE_OPTIONS, "nosniff"));
    if known {
        return response.finish();
    }
    response.insert_header((CONTENT_TYPE, content_type(&name))).body(file.data)
}

/// The content type by the ending; the embedded files have no others.
fn content_type(name: &str) -> &'static str {
    match name.rsplit_once('.') {
        Some((_, "css")) => "text/css; charset=utf-8",
        Some((_, "js")) => "text/javascript; charset=utf-8",
        Some((_, "svg")) => "image/svg+xml",
        _ => "application/octet-stream",
    }
}

/// Adds the route to an application.
pub fn routes(config: &mut web::ServiceConfig) {
    config.route("/assets/{name}", web::get().to(serve));
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::{App, http::StatusCode, test};

    #[actix_web::test]
    async fn a_file_is_kept_for_good_under_its_version_and_known_by_its_tag() {
        let app = test::init_service(App::new().configure(routes)).await;
        let url = asset_url("look.css");
        assert_eq!(url.len(), "/assets/look.css?v=".len() + 8, "{url}");
        let answer = test::call_service(&app, test::TestRequest::get().uri(&url).to_request()).await;
        let header = |name| answer.headers().get(name).and_then(|v| v.to_str().ok()).unwrap_or("");
        assert_eq!(answer.status(), StatusCode::OK);
        assert_eq!(header("content-type"), "text/css; charset=utf-8");
        assert_eq!(header("cache-control"), "public, max-age=31536000, immutable");
        assert_eq!(header("x-content-type-options"), "nosniff");
        let tag = header("etag").to_string();
        assert_eq!(test::read_body(answer).await.as_ref(), include_bytes!("../../../assets/look.css"));

        let again = test::TestRequest::get().uri(&url).insert_header((IF_NONE_MATCH, format!("\"x\", {tag}")));
        let answer = test::call_service(&app, again.to_request()).await;
        assert_eq!(answer.status(), StatusCode::NOT_MODIFIED);
        assert!(test::read_body(answer).await.is_empty());
    }

    #[actix_web::test]
    async fn an_old_address_still_answers_but_not_for_good() {
        let app = test::init_service(App::new().configure(routes)).await;
        for url in ["/assets/gambrel.js", "/assets/gambrel.js?v=00000000"] {
            let answer = test::call_service(&app, test::TestRequest::get().uri(url).to_request()).await;
            assert_eq!(answer.headers().get("cache-control").unwrap(), "public, max-age=300", "{url}");
        }
        for url in ["/assets/none.css", "/assets/fonts", "/assets/..%2fCargo.toml", "/assets/..%2Fassets%2Flook.css"] {
            let answer = test::call_service(&app, test::TestRequest::get().uri(url).to_request()).await;
            assert_eq!(answer.status(), StatusCode::NOT_FOUND, "{url}");
        }
    }

    #[std::prelude::v1::test]
    fn the_fonts_of_the_papers_are_not_served() {
        let names: Vec<_> = Files::iter().collect();
        assert!(names.iter().any(|name| name == "favicon.svg"));
        assert!(names.iter().all(|name| !name.contains('/')), "{names:?}");
    }
}
