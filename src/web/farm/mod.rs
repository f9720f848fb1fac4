//! The farm's pages; each file is one page or one form and its routes.

use actix_web::web;

pub mod settings;
pub mod today;

/// The farm's routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    today::routes(cfg);
    settings::routes(cfg);
}
