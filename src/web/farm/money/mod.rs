//! Money: what is owed, what came in, what is held; recording payments, using credit, giving it back.

use actix_web::web;

pub mod credit;
pub mod overview;
pub mod payment;
pub mod receipt;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/money", web::get().to(overview::show));
    cfg.route("/payments/new", web::get().to(payment::show));
    cfg.route("/payments/new", web::post().to(payment::record));
    cfg.route("/payments/{id}/receipt", web::post().to(receipt::make));
    cfg.route("/customers/{id}/credit", web::get().to(credit::show));
    cfg.route("/customers/{id}/credit", web::post().to(credit::save));
}
