//! Settings: the farm's own, and the way to the other parts.

use crate::book::rows::farm::Farm;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;

pub mod accounts;
pub mod backups;
mod bill_of_sale;
pub mod calendar;
pub mod messages;
mod overdue;
pub mod parts;
pub mod pickup;
mod pictures;
mod public;
pub mod sale_terms;
pub mod whole_book;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings", web::get().to(show));
    messages::routes(cfg);
    accounts::routes(cfg);
    backups::routes(cfg);
    whole_book::routes(cfg);
    pickup::routes(cfg);
    calendar::routes(cfg);
    public::routes(cfg);
    sale_terms::routes(cfg);
    bill_of_sale::routes(cfg);
    overdue::routes(cfg);
    cfg.route("/settings/{part}", web::get().to(parts::show));
    cfg.route("/settings/{part}", web::post().to(parts::save));
}

#[derive(Template)]
#[template(path = "farm/settings.html")]
struct SettingsPage {
    frame: Frame,
    farm: Farm,
}

async fn show(farmer: Farmer) -> Answer {
    Ok(page(&SettingsPage { frame: farmer.frame(Tab::Settings), farm: farmer.farm }))
}
