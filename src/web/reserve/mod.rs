//! Pages for strangers: the farm's terms, asking for a share, and the link that confirms the address.

use actix_web::web;

pub mod ask;
pub mod confirm;
pub mod stranger;
pub mod terms;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/farm/terms", web::get().to(terms::show));
    cfg.route("/farm/asked", web::get().to(ask::asked));
    cfg.route("/farm/reserve/{offering}", web::get().to(ask::show));
    cfg.route("/farm/reserve/{offering}", web::post().to(ask::ask));
    cfg.route("/farm/confirm/{token}", web::get().to(confirm::show));
    cfg.route("/farm/confirm/{token}", web::post().to(confirm::confirm));
}
