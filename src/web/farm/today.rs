//! Today: what is due now, in order.

use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/", web::get().to(show));
}

#[derive(Template)]
#[template(path = "farm/today.html")]
struct TodayPage {
    frame: Frame,
}

async fn show(farmer: Farmer) -> Answer {
    Ok(page(&TodayPage { frame: farmer.frame(Tab::Today) }))
}
