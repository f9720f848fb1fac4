//! What every handler shares: the book, the clock, the settings, and the two ways to the book.

use super::figures::Figures;
use super::reserve::stranger::Strangers;
use crate::actions::remember_yields::Remembered;
use crate::actions::{Doing, Failure};
use crate::book::accounts;
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::store::{Store, Tx};
use crate::clock::Clock;
use crate::config::Config;
use crate::secret;
use actix_web::HttpRequest;
use actix_web::http::header::HOST;
use governor::clock::DefaultClock;
use governor::state::keyed::DashMapStateStore;
use governor::{Quota, RateLimiter};
use std::num::NonZeroU32;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{Notify, Semaphore};

/// Somebody who does something with a form: a signed-in farmer, or a customer or processor who holds a private link.
pub trait Doer {
    /// Who does it, and when, for the story.
    fn doing(&self) -> Doing;
    /// Keys this browser's form keys.
    fn form_secret(&self) -> &str;
}

/// Tries to sign in: ten at once, then one more every ninety seconds (ten in fifteen minutes), per address and per account.
const TRIES: NonZeroU32 = NonZeroU32::new(10).unwrap();

/// Public pages: this many at once for one visitor (a page with all its pictures, several times), then ten a second.
const LOOKS: NonZeroU32 = NonZeroU32::new(300).unwrap();
const TEN: NonZeroU32 = NonZeroU32::new(10).unwrap();

/// What every handler shares. Cheap to clone.
#[derive(Clone)]
pub struct App {
    /// The book.
    pub store: Store,
    /// The operator's settings.
    pub config: Arc<Config>,
    /// The clock.
    pub clock: Clock,
    /// At most two passwords are hashed at once, so that signing in cannot take the machine down.
    pub hashing: Arc<Semaphore>,
    /// One plan is reckoned at a time: it takes a core for a second or two.
    pub planning: Arc<Semaphore>,
    /// Tries to sign in, by address and by account.
    pub tries: Arc<RateLimiter<String, DashMapStateStore<String>, DefaultClock>>,
    /// Public pages that were asked for, by visitor.
    pub looks: Arc<RateLimiter<String, DashMapStateStore<String>, DefaultClock>>,
    /// What own yields taught the forecasts, as it was read last.
    pub yields: Arc<Remembered>,
    /// One picture is made ready at a time: it may take 200 MB for a second.
    pub drawing: Arc<Semaphore>,
    /// What strangers may do without signing in.
    pub strangers: Arc<Strangers>,
    /// What a monitor may ask for.
    pub figures: Arc<Figures>,
    /// Wakes the mail worker when a message was queued.
    pub mail: Arc<Notify>,
}

impl App {
    /// Puts the shared parts together.
    pub fn new(store: Store, config: Config, clock: Clock) -> Self {
        let quota =
            Quota::with_period(Duration::from_secs(90)).unwrap_or_else(|| Quota::per_minute(TRIES)).allow_burst(TRIES);
        Self {
            figures: Arc::new(Figures::new(clock.at().0)),
            store,
            config: Arc::new(config),
            clock,
            hashing: Arc::new(Semaphore::new(2)),
            planning: Arc::new(Semaphore::new(1)),
            tries: Arc::new(RateLimiter::keyed(quota)),
            looks: Arc::new(RateLimiter::keyed(Quota::per_second(TEN).allow_burst(LOOKS))),
            yields: Arc::default(),
            drawing: Arc::new(Semaphore::new(1)),
            strangers: Arc::new(Strangers::new()),
            mail: Arc::new(Notify::new()),
        }
    }

    /// The clock's reading, with the day in `zone`.
    pub fn now(&self, zone: chrono_tz::Tz) -> Now {
        let at = self.clock.at();
        Now { at, today: at.day(zone), zone }
    }

    /// Reads from the book on a blocking thread, in one snapshot.
    ///
    /// # Errors
    /// Those of `f` and of the book.
    pub async fn read<T, F>(&self, f: F) -> Result<T, Failure>
    where
        T: Send + 'static,
        F: FnOnce(&mut DbConn) -> Result<T, Failure> + Send + 'static,
    {
        let store = self.store.clone();
        actix_web::web::block(move || store.read(f)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
    }

    /// Writes to the book on a blocking thread, in one transaction that may be run again.
    ///
    /// # Errors
    /// Those of `f` and of the book; nothing is written then.
    pub async fn write<T, F>(&self, f: F) -> Result<T, Failure>
    where
        T: Send + 'static,
        F: Fn(&mut Tx) -> Result<T, Failure> + Send + 'static,
    {
        let store = self.store.clone();
        actix_web::web::block(move || store.write(f)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
    }

    /// Does one thing somebody asked for with a form, once: `f` returns where to go next. The same form sent again goes
    /// where the first one went and does nothing.
    ///
    /// # Errors
    /// Those of `f` and of the book; nothing is written and the form key stays good then.
    pub async fn act<F>(&self, who: &impl Doer, form_key: &str, f: F) -> Result<String, Failure>
    where
        F: Fn(&mut Tx, &Doing) -> Result<String, Failure> + Send + 'static,
    {
        if !secret::form_key_is_ours(who.form_secret(), form_key) {
            return Err(Failure::refuse(
                "",
                "This page is from an earlier sign-in. What you typed is still here; look it over and save it again.",
            ));
        }
        let (key, doing) = (form_key.to_string(), who.doing());
        let location = self
            .write(move |tx| {
                if let Some(location) = accounts::form_key_used(tx, &key)? {
                    return Ok(location);
                }
                let location = f(tx, &doing)?;
                accounts::use_form_key(tx, &key, &location, doing.now.at)?;
                Ok(location)
            })
            .await?;
        self.mail.notify_one();
        Ok(location)
    }

    /// Counts a try to sign in; `false` when there were too many.
    pub fn may_try(&self, who: &str) -> bool {
        if self.tries.len() > 10_000 {
            self.tries.retain_recent();
        }
        self.tries.check_key(&who.to_string()).is_ok()
    }

    /// Counts a public page that is asked for; `false` when there were too many.
    pub fn may_look(&self, who: &str) -> bool {
        if self.looks.len() > 10_000 {
            self.looks.retain_recent();
        }
        self.looks.check_key(&who.to_string()).is_ok()
    }

    /// The session cookie's name: the `__Host-` prefix needs https.
    pub fn cookie_name(&self) -> &'static str {
        if self.config.is_https() { "__Host-gambrel" } else { "gambrel" }
    }

    /// The cookie's name of a browser that opened a customer's private link.
    pub fn holder_cookie(&self) -> &'static str {
        if self.config.is_https() { "__Host-gambrel_order" } else { "gambrel_order" }
    }

    /// The cookie's name of a browser at a plant that opened the private link of a date.
    pub fn plant_cookie(&self) -> &'static str {
        if self.config.is_https() { "__Host-gambrel_plant" } else { "gambrel_plant" }
    }

    /// The address people type, without a slash at its end; where none is set, the one this request was sent to.
    pub fn base(&self, req: &HttpRequest) -> String {
        let asked = || req.headers().get(HOST).and_then(|h| h.to_str().ok()).unwrap_or("127.0.0.1");
        self.config.public_url.clone().unwrap_or_else(|| format!("http://{}", asked()))
    }

    /// The visitor's address: the peer's, or behind a trusted proxy the last one it names.
    pub fn visitor(&self, req: &HttpRequest) -> String {
        let peer = || req.peer_addr().map(|a| a.ip().to_string()).unwrap_or_default();
        if !self.config.trust_proxy {
            return peer();
        }
        let named = req
            .headers()
            .get("x-forwarded-for")
            .and_then(|v| v.to_str().ok())
            .and_then(|v| v.rsplit(',').next())
            .map(|v| v.trim().to_string());
        named.filter(|v| !v.is_empty() && v.len() < 64).unwrap_or_else(peer)
    }

    /// Whether an instant lies longer ago than `minutes`.
    pub fn older_than(&self, at: At, minutes: i64) -> bool {
        self.clock.at().0.saturating_sub(at.0) > minutes.saturating_mul(60_000)
    }
}
