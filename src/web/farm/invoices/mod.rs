//! Invoices: looking them over before they are issued, issuing, one invoice's page, its paper, voiding.

use actix_web::web;

pub mod papers;
pub mod preview;
pub mod show;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/dates/{id}/invoices", web::get().to(preview::of_date));
    cfg.route("/dates/{id}/invoices", web::post().to(preview::issue_date));
    cfg.route("/orders/{id}/invoice", web::get().to(preview::of_order));
    cfg.route("/orders/{id}/invoice", web::post().to(preview::issue_order));
    cfg.route("/invoices/{id}.pdf", web::get().to(papers::invoice));
    cfg.route("/receipts/{id}.pdf", web::get().to(papers::receipt));
    cfg.route("/credit-notes/{id}.pdf", web::get().to(papers::credit_note));
    cfg.route("/invoices/{id}", web::get().to(show::show));
    cfg.route("/invoices/{id}/send", web::post().to(show::send));
    cfg.route("/invoices/{id}/remind", web::post().to(show::remind));
    cfg.route("/invoices/{id}/void", web::get().to(show::ask_void));
    cfg.route("/invoices/{id}/void", web::post().to(show::void));
}
