//! A customer's pages, reached by the private link of one order.

use actix_web::web;

pub mod enter;
pub mod frame;
pub mod holder;
pub mod lost;
pub mod order;
pub mod sheet;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/c/{token}", web::get().to(enter::show));
    cfg.route("/c/{token}", web::post().to(enter::enter));
    cfg.route("/lost-link", web::get().to(lost::show));
    cfg.route("/lost-link", web::post().to(lost::send));
    cfg.route("/my", web::get().to(order::show));
    cfg.route("/my/leave", web::post().to(enter::leave));
    sheet::routes(cfg);
}
