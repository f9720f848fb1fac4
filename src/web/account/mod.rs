//! Getting in: the first account, set-up, signing in and out, the second factor, a lost password; and a person's own account.

use actix_web::web;

pub mod browser;
pub mod code;
pub mod lost;
pub mod own;
pub mod password;
pub mod second_factor;
pub mod set_up;
pub mod sign_in;
pub mod start;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    start::routes(cfg);
    set_up::routes(cfg);
    sign_in::routes(cfg);
    code::routes(cfg);
    lost::routes(cfg);
    own::routes(cfg);
    password::routes(cfg);
    second_factor::routes(cfg);
}
