//! Set-up after the first account: four short pages, each saved as it is left.

use super::super::farm::settings::parts::{PARTS, PartPage, save_part, stored};
use crate::actions::Failure;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::Tab;
use crate::web::look::respond::page;
use crate::web::sent::Sent;
use actix_web::web;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/{part}", web::get().to(show));
    cfg.route("/set-up/{part}", web::post().to(save));
}

async fn show(farmer: Farmer, part: web::Path<String>) -> Answer {
    let step = step_of(&part)?;
    Ok(page(&PartPage::new(farmer.frame(Tab::None), stored(&farmer.farm, &part)?, &part, Some(step))))
}

async fn save(farmer: Farmer, app: web::Data<App>, part: web::Path<String>, sent: Sent) -> Answer {
    let step = step_of(&part)?;
    let next = PARTS.get(step).map_or("/".to_string(), |next| format!("/set-up/{next}"));
    save_part(&farmer, &app, &part, sent, Some(step), &next).await
}

/// Which page of set-up a part is, counted from 1.
fn step_of(part: &str) -> Result<usize, Failure> {
    PARTS.iter().position(|p| *p == part).map(|i| i + 1).ok_or(Failure::NotFound)
}
