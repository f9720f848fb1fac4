//! `GET /health`: whether the service can read its book. Tells nothing else.

use super::app::App;
use super::errors::Answer;
use actix_web::{HttpResponse, web};

/// 200 `ok` when the book can be read.
///
/// # Errors
/// 500 when it cannot.
pub async fn health(app: web::Data<App>) -> Answer {
    app.read(|c| Ok(crate::book::accounts::count(c)?)).await?;
    Ok(HttpResponse::Ok().content_type("text/plain; charset=utf-8").body("ok\n"))
}
