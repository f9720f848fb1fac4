//! Invoices: looking them over before they are issued, issuing, one invoice's page, its paper, voiding.

use actix_web::web;

pub mod correct;
pub mod credit_part;
pub mod letter;
pub mod papers;
pub mod preview;
pub mod show;
pub mod write_off;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/dates/{id}/invoices", web::get().to(preview::of_date));
    cfg.route("/dates/{id}/invoices", web::post().to(preview::issue_date));
    cfg.route("/orders/{id}/invoice", web::get().to(preview::of_order));
    cfg.route("/orders/{id}/invoice", web::post().to(preview::issue_order));
    cfg.route("/invoices/{id}.pdf", web::get().to(papers::invoice));
    cfg.route("/receipts/{id}.pdf", web::get().to(papers::receipt));
    cfg.route("/credit-notes/{id}.pdf", web::get().to(papers::credit_note));
    cfg.route("/refund-slips/{id}.pdf", web::get().to(papers::refund_slip));
    cfg.route("/part-credits/{id}.pdf", web::get().to(papers::part_credit));
    cfg.route("/invoices/{id}/credit", web::get().to(credit_part::show));
    cfg.route("/invoices/{id}/credit", web::post().to(credit_part::save));
    cfg.route("/animals/{id}/correct-weight", web::get().to(correct::show));
    cfg.route("/animals/{id}/correct-weight", web::post().to(correct::save));
    cfg.route("/invoices/{id}/write-off", web::get().to(write_off::show));
    cfg.route("/invoices/{id}/write-off", web::post().to(write_off::save));
    cfg.route("/invoices/{id}", web::get().to(show::show));
    cfg.route("/invoices/{id}/send", web::post().to(show::send));
    cfg.route("/invoices/{id}/remind", web::post().to(show::remind));
    cfg.route("/invoices/{id}/letter", web::get().to(letter::show));
    cfg.route("/invoices/{id}/letter", web::post().to(letter::write));
    cfg.route("/invoices/{id}/letter/stop", web::post().to(letter::stop));
    cfg.route("/invoices/{id}/interest", web::post().to(letter::interest));
    cfg.route("/invoices/{id}/void", web::get().to(show::ask_void));
    cfg.route("/invoices/{id}/void", web::post().to(show::void));
}
