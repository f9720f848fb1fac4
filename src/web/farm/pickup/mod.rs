//! Collecting the meat of a processing date: who is ready, when they come, who came.

use actix_web::web;

mod list;
mod ready;
mod storage;
mod tick;
mod window;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/dates/{id}/pickup", web::get().to(list::show));
    cfg.route("/dates/{id}/pickup-list.pdf", web::get().to(list::paper));
    cfg.route("/dates/{id}/ready", web::get().to(ready::ask));
    cfg.route("/dates/{id}/ready", web::post().to(ready::say));
    cfg.route("/dates/{id}/windows/new", web::get().to(window::new));
    cfg.route("/dates/{id}/windows/new", web::post().to(window::add));
    cfg.route("/windows/{id}", web::get().to(window::open));
    cfg.route("/windows/{id}", web::post().to(window::change));
    cfg.route("/windows/{id}/call-off", web::post().to(window::call_off));
    cfg.route("/orders/{id}/pickup", web::post().to(tick::choose));
    cfg.route("/orders/{id}/pickup/answered", web::post().to(tick::answered));
    cfg.route("/orders/{id}/collected", web::post().to(tick::collected));
    cfg.route("/orders/{id}/collected/undo", web::post().to(tick::undo));
    cfg.route("/orders/{id}/ready/undo", web::post().to(tick::not_ready));
    cfg.route("/orders/{id}/storage", web::get().to(storage::ask));
    cfg.route("/orders/{id}/storage", web::post().to(storage::charge));
}
