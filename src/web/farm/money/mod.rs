//! Money: what is owed, what came in, what is held; recording payments, using credit, giving it back.

use actix_web::web;

pub mod act;
pub mod by_reference;
pub mod credit;
pub mod ledger;
pub mod overview;
pub mod owed;
pub mod payment;
pub mod receipt;
pub mod returned;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/money", web::get().to(overview::show));
    cfg.route("/money/deposit", web::get().to(by_reference::show));
    cfg.route("/money/owed", web::get().to(owed::show));
    cfg.route("/money/ledger", web::get().to(ledger::show));
    cfg.route("/money/ledger.csv", web::get().to(ledger::table));
    cfg.route("/money/ledger-journal.txt", web::get().to(ledger::journal));
    cfg.route("/payments/new", web::get().to(payment::show));
    cfg.route("/payments/new", web::post().to(payment::record));
    cfg.route("/payments/{id}/returned", web::get().to(returned::show));
    cfg.route("/payments/{id}/returned", web::post().to(returned::save));
    cfg.route("/payments/{id}/receipt", web::post().to(receipt::make));
    cfg.route("/customers/{id}/credit", web::get().to(credit::show));
    cfg.route("/customers/{id}/credit", web::post().to(credit::save));
}
