//! Who holds the private link of a processing date: no handler of a processor's pages exists without a [`PlantHolder`], and a holder
//! has one date.

use super::frame::{Place, PlantFrame};
use crate::actions::{Doing, Failure, plant_link};
use crate::book::at::Now;
use crate::book::ids::DateId;
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{farm, plant_links};
use crate::secret;
use crate::trade::dates::long;
use crate::web::app::{App, Doer};
use crate::web::errors::PageError;
use crate::web::look::Notice;
use crate::web::notice;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use std::future::Future;
use std::pin::Pin;

/// A browser that opened the private link of one processing date, with the farm and the time as this request sees them. Whatever a page
/// shows or does is about [`date`](Self::date); a head, share or packet that a page names is looked for on that date only.
#[derive(Debug, Clone)]
pub struct PlantHolder {
    /// The date, and the only one.
    pub date: ProcessingDate,
    /// The plant it is booked at.
    pub plant: Processor,
    /// Who opened the link, as they typed it.
    pub name: String,
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

impl PlantHolder {
    /// The date's id.
    pub const fn id(&self) -> DateId {
        self.date.id
    }

    /// The frame of a page.
    pub fn frame(&self, at: Place) -> PlantFrame {
        PlantFrame {
            farm: self.farm.name.clone(),
            plant: self.plant.name.clone(),
            day: long(self.date.kill_on, self.now.today),
            name: self.name.clone(),
            at,
            notice: self.notice.clone(),
            form_key: self.form_key(),
            demo: self.farm.is_demo,
            phone: self.farm.phone.clone(),
        }
    }

    /// A fresh one-use form key, so that each form of a page can be sent by itself.
    pub fn form_key(&self) -> String {
        secret::form_key(&self.form_secret).unwrap_or_default()
    }

    /// The farm's unit of weight: `lb` or `kg`.
    pub fn unit(&self) -> &'static str {
        self.farm.unit.as_str()
    }
}

impl Doer for PlantHolder {
    fn doing(&self) -> Doing {
        Doing { now: self.now, account: None, actor: format!("{} at {}", self.name, self.plant.name) }
    }
    fn form_secret(&self) -> &str {
        &self.form_secret
    }
}

impl FromRequest for PlantHolder {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move { holding(&req).await })
    }
}

async fn holding(req: &HttpRequest) -> Result<PlantHolder, PageError> {
    let app = req
        .app_data::<web::Data<App>>()
        .ok_or_else(|| Failure::Unexpected("the service is not put together".into()))?;
    let cookie = req.cookie(app.plant_cookie()).map(|c| c.value().to_string()).filter(|t| t.len() == 32);
    let session_hash = secret::hash(&cookie.ok_or(PageError::NoPlantLink)?);
    let (hash, at) = (session_hash.clone(), app.clock.at());
    let found = app
        .read(move |c| {
            let Some(opened) = plant_links::session_of(c, &hash, at)? else { return Ok(None) };
            let farm = farm::get(c)?;
            let now = Now { at, today: at.day(farm.zone()), zone: farm.zone() };
            Ok(plant_link::opens(&opened.1, now).then_some((opened, farm, now)))
        })
        .await?;
    let ((session, date, plant), farm, now) = found.ok_or(PageError::NoPlantLink)?;
    if app.older_than(session.last_seen_at, 10) {
        let seen = session.clone();
        app.write(move |tx| Ok(plant_links::touch(tx, &seen, at)?)).await?;
    }
    Ok(PlantHolder {
        date,
        plant,
        name: session.name,
        farm,
        now,
        form_secret: session.form_secret,
        session_hash,
        notice: notice::read(req),
    })
}
