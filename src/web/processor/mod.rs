//! A processor's pages, reached by the private link of one processing date.

use actix_web::web;

pub mod boxes;
pub mod day;
pub mod enter;
pub mod frame;
pub mod holder;
pub mod latest;
pub mod packets;
pub mod scale;
pub mod word;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/p/{token}", web::get().to(enter::show));
    cfg.route("/p/{token}", web::post().to(enter::enter));
    cfg.route("/lost-plant-link", web::get().to(enter::lost));
    cfg.route("/plant", web::get().to(day::show));
    cfg.route("/plant/scale", web::get().to(scale::show));
    cfg.route("/plant/scale/{animal}", web::post().to(scale::save));
    cfg.route("/plant/sheets", web::get().to(packets::sheets));
    cfg.route("/plant/packet/{id}.pdf", web::get().to(packets::paper));
    cfg.route("/plant/packet/{id}/received", web::post().to(packets::received));
    cfg.route("/plant/boxes", web::get().to(boxes::show));
    cfg.route("/plant/boxes/{order}", web::post().to(boxes::save));
    cfg.route("/plant/farm", web::get().to(word::show));
    cfg.route("/plant/ready", web::post().to(word::ready));
    cfg.route("/plant/note", web::post().to(word::note));
    cfg.route("/plant/leave", web::post().to(enter::leave));
}
