//! Costs: what animals and lots cost, and what an animal has to sell for.

use actix_web::web;

mod form;
mod list;
mod price;
mod show;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/costs", web::get().to(list::show));
    cfg.route("/costs/new", web::get().to(form::new));
    cfg.route("/costs/new", web::post().to(form::enter));
    cfg.route("/costs/price", web::get().to(price::show));
    cfg.route("/costs/{id}", web::get().to(show::show));
    cfg.route("/costs/{id}/change", web::get().to(form::change));
    cfg.route("/costs/{id}/change", web::post().to(form::save));
    cfg.route("/costs/{id}/take-back", web::post().to(show::take_back));
}
