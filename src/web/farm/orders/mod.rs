//! Orders: the order book, taking a reservation, one order's page and what can be done on it.

use actix_web::web;

pub mod agreed;
mod asked;
mod beside;
mod bill_of_sale;
pub mod came_home;
pub mod cancel;
pub mod change;
pub mod deposit;
pub mod kept;
pub mod link;
pub mod list;
mod lock;
pub mod money;
pub mod new;
pub mod offer;
pub mod sheet;
pub mod show;
mod there;
pub mod transfer;
mod wishes;
pub mod words;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/orders", web::get().to(list::show));
    cfg.route("/orders/new", web::get().to(new::show));
    cfg.route("/orders/new", web::post().to(new::take));
    cfg.route("/orders/new/for", web::post().to(new::choose));
    cfg.route("/orders/{id}", web::get().to(show::show));
    cfg.route("/orders/{id}/deposit", web::get().to(deposit::show));
    cfg.route("/orders/{id}/deposit", web::post().to(deposit::record));
    cfg.route("/orders/{id}/deposit/refund", web::get().to(money::ask_refund));
    cfg.route("/orders/{id}/deposit/refund", web::post().to(money::refund));
    cfg.route("/orders/{id}/deposit/carry", web::get().to(money::ask_carry));
    cfg.route("/orders/{id}/deposit/carry", web::post().to(money::carry));
    cfg.route("/orders/{id}/deposit/kept", web::get().to(kept::show));
    cfg.route("/orders/{id}/deposit/kept", web::post().to(kept::save));
    cfg.route("/orders/{id}/transfer", web::get().to(transfer::show));
    cfg.route("/orders/{id}/transfer", web::post().to(transfer::save));
    cfg.route("/orders/{id}/move-up", web::get().to(change::ask_move_up));
    cfg.route("/orders/{id}/move-up", web::post().to(change::move_up));
    cfg.route("/orders/{id}/offer", web::post().to(offer::offer));
    cfg.route("/orders/{id}/offer/answer", web::post().to(offer::answer));
    cfg.route("/orders/{id}/wishes", web::get().to(wishes::show));
    cfg.route("/orders/{id}/wishes", web::post().to(wishes::save));
    cfg.route("/orders/{id}/terms", web::get().to(agreed::show));
    cfg.route("/orders/{id}/terms", web::post().to(agreed::save));
    cfg.route("/confirmations/{id}.pdf", web::get().to(agreed::confirmation_pdf));
    cfg.route("/orders/{id}/lock", web::post().to(lock::lock));
    cfg.route("/orders/{id}/lines", web::get().to(change::show_lines));
    cfg.route("/orders/{id}/lines", web::post().to(change::save_line));
    cfg.route("/orders/{id}/products", web::post().to(change::save_products));
    cfg.route("/orders/{id}/cut-sheet", web::get().to(sheet::show));
    cfg.route("/orders/{id}/cut-sheet", web::post().to(sheet::save));
    cfg.route("/orders/{id}/came-home", web::get().to(came_home::show));
    cfg.route("/orders/{id}/came-home", web::post().to(came_home::save));
    cfg.route("/orders/{id}/bill-of-sale", web::get().to(bill_of_sale::show));
    cfg.route("/orders/{id}/bill-of-sale", web::post().to(bill_of_sale::make));
    cfg.route("/bills-of-sale/{id}.pdf", web::get().to(bill_of_sale::pdf));
    cfg.route("/orders/{id}/link", web::get().to(link::show));
    cfg.route("/orders/{id}/link/send", web::post().to(link::send));
    cfg.route("/orders/{id}/link/show", web::post().to(link::reveal));
    cfg.route("/orders/{id}/link/renew", web::post().to(link::renew));
    cfg.route("/orders/{id}/receipts/{receipt}/with-link", web::post().to(link::on_receipt));
    cfg.route("/orders/{id}/link/revoke", web::post().to(link::revoke));
    cfg.route("/orders/{id}/cancel", web::get().to(cancel::show));
    cfg.route("/orders/{id}/cancel", web::post().to(cancel::cancel));
    cfg.route("/orders/{id}/cancel/stays", web::post().to(cancel::stays));
}
