//! For sale: offerings, what is left of them, and their price lists.

mod edit;
mod left;
mod list;
mod prices;
mod rows;
mod show;
mod write;

use actix_web::web;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/for-sale", web::get().to(list::list));
    cfg.route("/for-sale/new", web::get().to(edit::new));
    cfg.route("/for-sale/new", web::post().to(edit::add));
    cfg.route("/for-sale/left", web::get().to(left::show));
    cfg.route("/for-sale/left/write", web::get().to(write::ask));
    cfg.route("/for-sale/left/write", web::post().to(write::send));
    cfg.route("/for-sale/{id}", web::get().to(show::show));
    cfg.route("/for-sale/{id}/edit", web::get().to(edit::edit));
    cfg.route("/for-sale/{id}/edit", web::post().to(edit::save));
    cfg.route("/for-sale/{id}/prices", web::get().to(prices::prices));
    cfg.route("/for-sale/{id}/prices", web::post().to(prices::price));
    cfg.route("/for-sale/{id}/close", web::post().to(show::close));
}
