//! Requests from the farm's page: those to answer, and the answer.

use actix_web::web;

mod list;
mod show;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/requests", web::get().to(list::show));
    cfg.route("/requests/{id}", web::get().to(show::show));
    cfg.route("/requests/{id}/accept", web::post().to(show::accept));
    cfg.route("/requests/{id}/decline", web::post().to(show::decline));
}
