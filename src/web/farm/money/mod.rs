//! Money: what is owed, what came in, what is held; recording payments, using credit, giving it back.

use actix_web::web;

pub mod act;
pub mod bank;
pub mod bank_columns;
pub mod bank_line;
pub mod bank_settled;
pub mod bank_words;
pub mod behind;
pub mod by_reference;
pub mod credit;
pub mod for_what;
pub mod ledger;
pub mod not_matched;
pub mod overview;
pub mod owed;
pub mod payment;
pub mod receipt;
pub mod returned;
pub mod slip;
pub mod takings;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/money", web::get().to(overview::show));
    cfg.route("/money/deposit", web::get().to(by_reference::show));
    cfg.route("/money/bank", web::get().to(bank::show));
    cfg.route("/money/bank", web::post().to(bank::send));
    cfg.route("/money/bank/settled", web::get().to(bank_settled::show));
    cfg.route("/money/bank/files/{id}", web::get().to(bank_columns::show));
    cfg.route("/money/bank/files/{id}", web::post().to(bank_columns::save));
    cfg.route("/money/bank/lines/{id}", web::get().to(bank_line::show));
    cfg.route("/money/bank/lines/{id}", web::post().to(bank_line::save));
    cfg.route("/money/not-matched", web::get().to(not_matched::list));
    cfg.route("/money/not-matched/new", web::get().to(not_matched::ask));
    cfg.route("/money/not-matched/new", web::post().to(not_matched::record));
    cfg.route("/money/not-matched/{id}", web::get().to(not_matched::show));
    cfg.route("/money/not-matched/{id}", web::post().to(not_matched::save));
    cfg.route("/money/takings", web::get().to(takings::show));
    cfg.route("/money/takings", web::post().to(takings::make));
    cfg.route("/money/slips/{id}.pdf", web::get().to(slip::pdf));
    cfg.route("/money/slips/{id}", web::get().to(slip::show));
    cfg.route("/money/slips/{id}/apart", web::post().to(slip::apart));
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
