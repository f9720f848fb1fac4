//! The route table and the fixed stack of wrappers, in one place.

use super::app::App;
use super::errors::error_page;
use super::{account, customer, farm, guard, health, look, processor, public, reserve, sent};
use actix_web::dev::{ServiceFactory, ServiceRequest, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::middleware::{Compress, from_fn};
use actix_web::{Error, web};

/// Every route of the service.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/health", web::get().to(health::health));
    cfg.route("/assets/{name}", web::get().to(look::assets::serve));
    account::routes(cfg);
    farm::routes(cfg);
    customer::routes(cfg);
    reserve::routes(cfg);
    public::routes(cfg);
    processor::routes(cfg);
    cfg.default_service(web::to(|| async {
        error_page(
            StatusCode::NOT_FOUND,
            "There is no such page",
            "The address may be old or mistyped. Nothing was changed.",
            "",
        )
    }));
}

/// The service, ready for a server or a test.
pub fn service(
    app: App,
) -> actix_web::App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl actix_web::body::MessageBody>,
        Error = Error,
        InitError = (),
    >,
> {
    actix_web::App::new()
        .app_data(web::Data::new(app))
        .app_data(web::PayloadConfig::new(sent::MOST_BYTES))
        .configure(routes)
        .wrap(from_fn(guard::guard))
        .wrap(Compress::default())
}
