//! Who is signed in: no handler of the farm's pages exists without a [`Farmer`].

use super::app::{App, Doer};
use super::errors::PageError;
use super::look::{Frame, Notice, Tab};
use super::permission::helper_may;
use crate::actions::accounts::IDLE_HOURS;
use crate::actions::{Doing, Failure};
use crate::book::at::Now;
use crate::book::ids::AccountId;
use crate::book::rows::accounts::{Account, Session};
use crate::book::rows::farm::Farm;
use crate::book::rows::stories::Story;
use crate::book::{accounts, farm};
use crate::secret;
use crate::trade::vocabulary::Role;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use std::future::Future;
use std::pin::Pin;

/// A signed-in person of the farm, with the farm and the time as this request sees them.
#[derive(Debug, Clone)]
pub struct Farmer {
    /// The account.
    pub account: AccountId,
    /// The person's name.
    pub name: String,
    /// What the account may do.
    pub role: Role,
    /// The farm and its settings.
    pub farm: Farm,
    /// When this request is handled.
    pub now: Now,
    /// Keys this browser's form keys.
    pub form_secret: String,
    /// The session, as stored.
    pub session_hash: String,
    /// One sentence about what was just done.
    pub notice: Option<Notice>,
}

impl Farmer {
    /// The frame of a page below `current`.
    pub fn frame(&self, current: Tab) -> Frame {
        Frame {
            farm: if self.farm.name.is_empty() { "Gambrel".into() } else { self.farm.name.clone() },
            signed_in: Some(self.name.clone()),
            current,
            notice: self.notice.clone(),
            form_key: secret::form_key(&self.form_secret).unwrap_or_default(),
            demo: self.farm.is_demo,
            limited: !self.sees_money(),
        }
    }

    /// Whether prices, deposits and balances are shown to this person.
    pub fn sees_money(&self) -> bool {
        self.role == Role::Farmer
    }

    /// A line of a story as this person may read it: one that says an amount is not for helpers.
    pub fn may_read(&self, line: &Story) -> bool {
        self.sees_money() || !(line.line.contains('$') || line.detail.contains('$'))
    }

    /// The farm's unit of weight: `lb` or `kg`.
    pub fn unit(&self) -> &'static str {
        self.farm.unit.as_str()
    }
}

impl Doer for Farmer {
    fn doing(&self) -> Doing {
        Doing { now: self.now, account: Some(self.account), actor: self.name.clone() }
    }
    fn form_secret(&self) -> &str {
        &self.form_secret
    }
}

impl FromRequest for Farmer {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            let farmer = signed_in(&req).await?;
            if farmer.role == Role::Helper && !helper_may(req.path()) {
                return Err(Failure::Forbidden.into());
            }
            if farmer.farm.set_up_at.is_none() && !req.path().starts_with("/set-up") && req.path() != "/sign-out" {
                return Err(PageError::Elsewhere("/set-up/farm".into()));
            }
            Ok(farmer)
        })
    }
}

async fn signed_in(req: &HttpRequest) -> Result<Farmer, PageError> {
    let app = req
        .app_data::<web::Data<App>>()
        .ok_or_else(|| Failure::Unexpected("the service is not put together".into()))?;
    let back = || {
        PageError::SignIn(if req.method().is_safe() {
            req.uri().path_and_query().map(ToString::to_string).unwrap_or_default()
        } else {
            String::new()
        })
    };
    let token =
        req.cookie(app.cookie_name()).map(|c| c.value().to_string()).filter(|t| t.len() == 32).ok_or_else(back)?;
    let session_hash = secret::hash(&token);
    let (hash, at) = (session_hash.clone(), app.clock.at());
    let found: Option<(Session, Account, Farm)> = app
        .read(move |c| {
            let Some((session, account)) = accounts::session_of(c, &hash, at)? else { return Ok(None) };
            Ok(Some((session, account, farm::get(c)?)))
        })
        .await?;
    let (session, account, farm) = found.ok_or_else(back)?;
    if app.older_than(session.last_seen_at, IDLE_HOURS * 60) {
        return Err(back());
    }
    if app.older_than(session.last_seen_at, 10) {
        let hash = session_hash.clone();
        app.write(move |tx| Ok(accounts::touch_session(tx, &hash, at)?)).await?;
    }
    let now = app.now(farm.zone());
    let notice = super::notice::read(req);
    Ok(Farmer {
        account: account.id,
        name: account.name,
        role: account.role,
        farm,
        now,
        form_secret: session.form_secret,
        session_hash,
        notice,
    })
}
