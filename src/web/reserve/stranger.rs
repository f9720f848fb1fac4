//! Somebody who is not signed in and holds no link. There is no session and no cookie: the key of a form is tied to the moment its page was
//! made, so that a form sent at once, or kept for a day, is told from one that a person filled in.

use crate::actions::{Doing, Failure};
use crate::book::at::{At, Now};
use crate::book::farm;
use crate::book::rows::farm::Farm;
use crate::secret;
use crate::web::app::{App, Doer};
use crate::web::errors::PageError;
use crate::web::look::form::FormIn;
use crate::web::look::{Frame, Tab};
use governor::clock::DefaultClock;
use governor::state::{InMemoryState, NotKeyed};
use governor::{Quota, RateLimiter};
use std::num::NonZeroU32;
use std::time::Duration;

/// The name of the hidden field with the moment a page was made.
pub const SINCE: &str = "since";
/// The field that people do not see and programs fill in.
pub const TRAP: &str = "website";
/// A form sent sooner than this after its page was not read by a person, in milliseconds.
const TOO_SOON: i64 = 3_000;
/// A form is good for this long, in milliseconds.
const TOO_OLD: i64 = 12 * 3_600_000;
/// Requests from everybody together: so many at once, then one more every ten seconds.
const AT_ONCE: NonZeroU32 = NonZeroU32::new(120).unwrap();

/// Who does it, in stories.
pub const ACTOR: &str = "somebody on the farm’s page";

/// What is shared by all strangers: the secret behind their form keys, and how many requests come in.
pub struct Strangers {
    secret: String,
    everybody: RateLimiter<NotKeyed, InMemoryState, DefaultClock>,
}

impl Strangers {
    /// With a fresh secret: forms of an earlier start are sent again.
    pub fn new() -> Self {
        let quota = Quota::with_period(Duration::from_secs(10)).unwrap_or_else(|| Quota::per_minute(AT_ONCE));
        Self { secret: secret::token().unwrap_or_default(), everybody: RateLimiter::direct(quota.allow_burst(AT_ONCE)) }
    }
    /// Counts a request; `false` when there were too many from everybody together.
    pub fn may_ask(&self) -> bool {
        self.everybody.check().is_ok()
    }
}

impl Default for Strangers {
    fn default() -> Self {
        Self::new()
    }
}

/// A stranger in front of a page.
pub struct Stranger {
    /// The farm.
    pub farm: Farm,
    /// When this request is handled.
    pub now: Now,
    /// When the page of the form was made.
    pub since: At,
    form_secret: String,
}

impl Stranger {
    /// In front of a page made now.
    ///
    /// # Errors
    /// When the book cannot be read, or the farm is not set up: then there is no such page.
    pub async fn now(app: &App) -> Result<Self, PageError> {
        let farm = app.read(|c| Ok(farm::get(c)?)).await?;
        if farm.set_up_at.is_none() {
            return Err(Failure::NotFound.into());
        }
        let now = app.now(farm.zone());
        Ok(Self { farm, now, since: now.at, form_secret: String::new() }.at(app, now.at))
    }

    /// In front of a page made at that moment.
    #[must_use]
    pub fn at(mut self, app: &App, since: At) -> Self {
        self.since = since;
        self.form_secret = format!("{}:{}", app.strangers.secret, since.0);
        self
    }

    /// In front of the page whose form was sent; a moment that cannot be is taken as now.
    #[must_use]
    pub fn of_form(self, app: &App, form: &FormIn) -> Self {
        let now = self.now.at;
        let since =
            form.raw(SINCE).parse().ok().map(At).filter(|at| at.0 <= now.0 && now.0.saturating_sub(at.0) < TOO_OLD);
        self.at(app, since.unwrap_or(now))
    }

    /// Why this form was hardly filled in by a person, or cannot be taken any more.
    pub fn why_not(&self, form: &FormIn, key: &str) -> Option<&'static str> {
        if !secret::form_key_is_ours(&self.form_secret, key) || form.raw(SINCE) != self.since.0.to_string() {
            return Some(
                "This page was open for very long, or our service was started anew. Look it over and send it once more.",
            );
        }
        let age = self.now.at.0.saturating_sub(self.since.0);
        (age < TOO_SOON).then_some("That was very quick. Look it over once more and send it again.")
    }

    /// The frame of a page.
    pub fn frame(&self) -> Frame {
        let key = secret::form_key(&self.form_secret).unwrap_or_default();
        Frame { demo: self.farm.is_demo, form_key: key, ..Frame::new(self.farm.name.clone(), Tab::None) }
    }
}

impl Doer for Stranger {
    fn doing(&self) -> Doing {
        Doing { now: self.now, account: None, actor: ACTOR.into() }
    }
    fn form_secret(&self) -> &str {
        &self.form_secret
    }
}
