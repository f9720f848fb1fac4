//! Who holds a private link: no handler of a customer's pages exists without a [`Holder`], and a holder has one order.

use super::frame::CustomerFrame;
use crate::actions::{Doing, Failure, private_link};
use crate::book::at::Now;
use crate::book::ids::{CustomerId, ReservationId};
use crate::book::rows::farm::Farm;
use crate::book::{farm, links};
use crate::secret;
use crate::web::app::{App, Doer};
use crate::web::errors::PageError;
use crate::web::look::Notice;
use crate::web::notice;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use std::future::Future;
use std::pin::Pin;

/// Who did it, in the story of an order.
pub const ACTOR: &str = "the customer by private link";

/// A browser that opened the private link of one order, with the farm and the time as this request sees them. Whatever a page shows or
/// does is about [`order`](Self::order); no address of a customer's page names an order.
#[derive(Debug, Clone)]
pub struct Holder {
    /// The order, and the only one.
    pub order: ReservationId,
    /// Its number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// What was ordered: `Half hog`.
    pub share: String,
    /// The farm and its settings.
    pub farm: Farm,
    /// When this request is handled.
    pub now: Now,
    /// Keys this browser's form keys.
    pub form_secret: String,
    /// The browser's session, as stored.
    pub session_hash: String,
    /// One sentence about what was just done.
    pub notice: Option<Notice>,
}

impl Holder {
    /// The frame of a page.
    pub fn frame(&self) -> CustomerFrame {
        CustomerFrame {
            farm: self.farm.name.clone(),
            number: self.number.clone(),
            notice: self.notice.clone(),
            form_key: secret::form_key(&self.form_secret).unwrap_or_default(),
            demo: self.farm.is_demo,
            address: self.farm.address.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>().join(", "),
            phone: self.farm.phone.clone(),
        }
    }

    /// The farm's unit of weight: `lb` or `kg`.
    pub fn unit(&self) -> &'static str {
        self.farm.unit.as_str()
    }
}

impl Doer for Holder {
    fn doing(&self) -> Doing {
        Doing { now: self.now, account: None, actor: ACTOR.into() }
    }
    fn form_secret(&self) -> &str {
        &self.form_secret
    }
}

impl FromRequest for Holder {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move { holding(&req).await })
    }
}

async fn holding(req: &HttpRequest) -> Result<Holder, PageError> {
    let app = req
        .app_data::<web::Data<App>>()
        .ok_or_else(|| Failure::Unexpected("the service is not put together".into()))?;
    let cookie = req.cookie(app.holder_cookie()).map(|c| c.value().to_string()).filter(|t| t.len() == 32);
    let session_hash = secret::hash(&cookie.ok_or(PageError::NoLink)?);
    let (hash, at) = (session_hash.clone(), app.clock.at());
    let found = app
        .read(move |c| {
            let Some(opened) = links::session_of(c, &hash, at)? else { return Ok(None) };
            let farm = farm::get(c)?;
            let now = Now { at, today: at.day(farm.zone()), zone: farm.zone() };
            let opens = private_link::opens(c, &opened.1, now)?;
            Ok(opens.then_some((opened, farm, now)))
        })
        .await?;
    let ((session, r, customer, o), farm, now) = found.ok_or(PageError::NoLink)?;
    if app.older_than(session.last_seen_at, 10) {
        let seen = session.clone();
        app.write(move |tx| Ok(links::touch(tx, &seen, at)?)).await?;
    }
    Ok(Holder {
        order: r.id,
        share: crate::web::farm::orders::words::share(&r, &o),
        number: r.number,
        customer: customer.id,
        name: customer.name,
        farm,
        now,
        form_secret: session.form_secret,
        session_hash,
        notice: notice::read(req),
    })
}
