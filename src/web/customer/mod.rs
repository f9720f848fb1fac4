//! A customer's pages, reached by the private link of one order.

use actix_web::web;

pub mod came_home;
pub mod cancel;
pub mod contact;
pub mod cost;
pub mod messages;
pub mod mine;
pub mod offer;
pub mod papers;
pub mod pickup;
pub mod steps;
pub mod terms;
pub mod todo;

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
    cfg.route("/my/offer", web::get().to(offer::show));
    cfg.route("/my/offer", web::post().to(offer::answer));
    cfg.route("/my/pickup", web::get().to(pickup::show));
    cfg.route("/my/pickup", web::post().to(pickup::choose));
    cfg.route("/my/pickup.ics", web::get().to(pickup::calendar));
    cfg.route("/my/pickup/none", web::post().to(pickup::none));
    cfg.route("/my/contact", web::get().to(contact::show));
    cfg.route("/my/contact", web::post().to(contact::save));
    cfg.route("/my/came-home", web::get().to(came_home::show));
    cfg.route("/my/came-home", web::post().to(came_home::save));
    cfg.route("/my/messages", web::get().to(messages::show));
    cfg.route("/my/terms", web::get().to(terms::show));
    cfg.route("/my/terms", web::post().to(terms::accept));
    cfg.route("/my/confirmation.pdf", web::get().to(terms::confirmation_pdf));
    cfg.route("/my/cancel", web::get().to(cancel::show));
    cfg.route("/my/cancel", web::post().to(cancel::ask));
    cfg.route("/my/cancel/withdraw", web::post().to(cancel::withdraw));
    cfg.route("/my/invoice/{id}.pdf", web::get().to(papers::invoice_pdf));
    cfg.route("/my/invoice/{id}", web::get().to(papers::invoice));
    cfg.route("/my/receipt/{id}.pdf", web::get().to(papers::receipt_pdf));
    cfg.route("/my/receipt/{id}", web::get().to(papers::receipt));
    cfg.route("/my/leave", web::post().to(enter::leave));
    sheet::routes(cfg);
}
