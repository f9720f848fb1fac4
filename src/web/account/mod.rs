//! Getting in: the first account, set-up, signing in and out.

use actix_web::web;

pub mod set_up;
pub mod sign_in;
pub mod start;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    start::routes(cfg);
    set_up::routes(cfg);
    sign_in::routes(cfg);
}
