//! The farm's pages; each file is one page or one form and its routes.

use actix_web::web;

pub mod animals;
pub mod dates;
pub mod heads;
pub mod place;
pub mod processors;
pub mod settings;
pub mod today;

/// The farm's routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    today::routes(cfg);
    settings::routes(cfg);
    processors::routes(cfg);
    dates::routes(cfg);
    animals::routes(cfg);
    place::routes(cfg);
}
