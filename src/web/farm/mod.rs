//! The farm's pages; each file is one page or one form and its routes.

use actix_web::web;

pub mod animals;
pub mod costs;
pub mod customers;
pub mod dates;
pub mod export;
pub mod for_sale;
pub mod heads;
pub mod import;
pub mod invoices;
pub mod money;
pub mod orders;
pub mod outbox;
pub mod pickup;
pub mod place;
pub mod plan;
pub mod processors;
pub mod reports;
pub mod requests;
pub mod search;
pub mod settings;
pub mod today;

/// The farm's routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    today::routes(cfg);
    search::routes(cfg);
    orders::routes(cfg);
    requests::routes(cfg);
    customers::routes(cfg);
    for_sale::routes(cfg);
    processors::routes(cfg);
    dates::routes(cfg);
    pickup::routes(cfg);
    animals::routes(cfg);
    place::routes(cfg);
    plan::routes(cfg);
    invoices::routes(cfg);
    money::routes(cfg);
    costs::routes(cfg);
    reports::routes(cfg);
    outbox::routes(cfg);
    import::routes(cfg);
    export::routes(cfg);
    settings::routes(cfg);
}
