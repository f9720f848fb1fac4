//! The mail worker: sends what is due, tries again later, and stops on refusals that are for good.
//!
//! A message is claimed in a committed write before it is sent, so a crash or a second instance never sends it again at once;
//! when the crash falls between the server's 250 and our note of it, it goes out once more with the same Message-ID.

use super::Failure;
use super::link_in_mail::{self, Made, put_link_in, wants_link};
use super::paper_again::{paper_again, paper_with_link};
use crate::book::at::{At, Now};
use crate::book::calendars;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::ids::PacketId;
use crate::book::outbox;
use crate::book::rows::outbox::Message;
use crate::book::sheets;
use crate::book::store::Store;
use crate::book::stories::{self, Line};
use crate::config::Config;
use crate::post::envelope::Outgoing;
use crate::post::private_link;
use crate::post::smtp::{PlainAllowed, SendFailure, Sender, SmtpSettings, backoff};
use crate::secret;
use crate::trade::vocabulary::PaperKind;
use chrono::TimeDelta;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::Notify;

/// How long a claimed message is kept from other workers; well above the limit for one try.
const CLAIM: TimeDelta = TimeDelta::minutes(5);
/// How often the worker looks for due mail when nobody wakes it.
const LOOK: Duration = Duration::from_secs(30);
/// How many messages one round sends, so that a long queue still lets waking and stopping through.
const ROUND: usize = 200;

/// What the worker works with. Cheap to clone.
#[derive(Clone)]
pub struct PostRoom {
    store: Store,
    sender: Sender,
    mail_from: Option<String>,
    public_url: Option<String>,
    stopping: Arc<AtomicBool>,
    now: Arc<dyn Fn() -> At + Send + Sync>,
}

/// What one round did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Round {
    /// Taken by the mail server.
    pub sent: usize,
    /// Put off.
    pub later: usize,
    /// Refused for good or given up.
    pub failed: usize,
    /// Whether the settings of the mail server are wrong; the round stopped there.
    pub settings: bool,
}

/// The sender of the settings; none when there is no mail server.
///
/// # Errors
/// A sentence for the operator.
pub fn sender_of(config: &Config) -> Result<Option<Sender>, String> {
    let Some(url) = &config.smtp_url else { return Ok(None) };
    let plain = if config.smtp_plain { PlainAllowed::Anywhere } else { PlainAllowed::Loopback };
    let settings = SmtpSettings::parse(url, plain).map_err(|e| format!("SMTP_URL: {e}"))?;
    let root = match &config.smtp_ca {
        None => None,
        Some(path) => {
            Some(std::fs::read(path).map_err(|e| format!("GAMBREL_SMTP_CA: {} cannot be read: {e}", path.display()))?)
        }
    };
    Sender::new(&settings, root.as_deref()).map(Some)
}

/// A message of the outbox with the farm's names and its paper, ready to be sent or downloaded. A private link stands in `m`
/// already; one that does not has its paragraph left out. `link` is its address, for a receipt that goes with it.
///
/// # Errors
/// [`Failure`] when the book or the paper fails.
pub fn outgoing(c: &mut DbConn, m: &Message, mail_from: Option<&str>, link: Option<&str>) -> Result<Outgoing, Failure> {
    let farm = farm::get(c)?;
    let attachment = match (m.attachment_kind, m.attachment_id) {
        (Some(kind), Some(id)) => Some(match link {
            Some(url) => paper_with_link(c, kind, id, url)?,
            None => paper_again(c, kind, id)?,
        }),
        _ => None,
    };
    let from_address = mail_from.unwrap_or(&farm.mail).trim().to_owned();
    let reply_to = if from_address.eq_ignore_ascii_case(farm.mail.trim()) { "" } else { farm.mail.trim() };
    Ok(Outgoing {
        reply_to: reply_to.to_owned(),
        from_name: farm.name,
        from_address,
        to_name: m.to_name.clone(),
        to_address: m.to_address.clone(),
        subject: m.subject.clone(),
        text_body: private_link::without(&m.body),
        attachment,
        calendar: calendars::of_message(c, m.id)?.map(|f| (f.method, f.body)),
        message_id: m.message_id.clone(),
        date: m.queued_at.utc(),
    })
}

impl PostRoom {
    /// Puts the worker's parts together. `mail_from` is the sender address of the settings; the farm's own when there is none.
    pub fn new(
        store: Store,
        sender: Sender,
        mail_from: Option<String>,
        now: impl Fn() -> At + Send + Sync + 'static,
    ) -> Self {
        Self { store, sender, mail_from, public_url: None, stopping: Arc::default(), now: Arc::new(now) }
    }

    /// With the address people type: without it no private link can be put into a mail.
    #[must_use]
    pub fn at_address(mut self, public_url: Option<String>) -> Self {
        self.public_url = public_url;
        self
    }

    /// Asks the worker to end after the message it is at. Wake it, so that it hears this soon.
    pub fn stop(&self) {
        self.stopping.store(true, Ordering::SeqCst);
    }

    async fn blocking<T: Send + 'static>(
        &self,
        f: impl FnOnce(&Store) -> Result<T, Failure> + Send + 'static,
    ) -> Result<T, Failure> {
        let store = self.store.clone();
        tokio::task::spawn_blocking(move || f(&store)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
    }

    /// Sends what is due, one after the other.
    ///
    /// # Errors
    /// [`Failure`] when the book fails; messages claimed so far come up again by themselves.
    pub async fn send_due(&self) -> Result<Round, Failure> {
        let mut round = Round::default();
        for _ in 0..ROUND {
            if self.stopping.load(Ordering::SeqCst) {
                break;
            }
            let now = (self.now)();
            let claimed = self
                .blocking(move |s| s.write(|tx| Ok::<_, Failure>(outbox::claim(tx, now, now.plus(CLAIM))?)))
                .await?;
            let Some(message) = claimed else { break };
            let (outcome, link) = self.try_once(&message).await?;
            round.count(&outcome, message.tries);
            self.note(message, outcome, link).await?;
            if round.settings {
                break;
            }
        }
        Ok(round)
    }

    /// Sends a message once; also the private link that was made for it.
    async fn try_once(&self, message: &Message) -> Result<(Result<(), SendFailure>, Option<Made>), Failure> {
        let (m, from, base, at) = (message.clone(), self.mail_from.clone(), self.public_url.clone(), (self.now)());
        let made = self
            .blocking(move |s| {
                let (m, link) = if wants_link(&m) {
                    let token = secret::token().map_err(Failure::Unexpected)?;
                    s.write(|tx| {
                        let mut m = m.clone();
                        let zone = farm::get(tx.conn())?.zone();
                        let now = Now { at, today: at.day(zone), zone };
                        let link = put_link_in(tx, now, &mut m, base.as_deref(), &token)?;
                        Ok::<_, Failure>((m, link))
                    })?
                } else {
                    (m, None)
                };
                let url = link.as_ref().map(|(_, url)| url.as_str());
                Ok((s.read(|c| outgoing(c, &m, from.as_deref(), url)), link.map(|(id, _)| id)))
            })
            .await?;
        match made {
            (Ok(out), link) => Ok((self.sender.send(&out).await, link)),
            (Err(Failure::Store(e)), _) => Err(Failure::Store(e)),
            (Err(e), link) => {
                let why = format!("The paper that goes with this message cannot be made: {e}.");
                Ok((Err(SendFailure::Never(why)), link))
            }
        }
    }

    async fn note(&self, m: Message, outcome: Result<(), SendFailure>, link: Option<Made>) -> Result<(), Failure> {
        let at = (self.now)();
        self.blocking(move |s| {
            // It has left or was refused: what is not written down would be sent again.
            s.write_surely(|tx| {
                // Refused outright, so nobody has this link. After a broken connection somebody may: it stays.
                if let (Err(SendFailure::Settings(_) | SendFailure::Never(_)), Some(link)) = (&outcome, link) {
                    link_in_mail::forget(tx, link)?;
                }
                let line = match &outcome {
                    Ok(()) => {
                        outbox::mark_sent(tx, m.id, at)?;
                        let detail = link.map_or("", |_| "It carried a private link.");
                        Some((format!("“{}” was mailed to {}.", m.subject, m.to_address), detail.to_string()))
                    }
                    Err(SendFailure::Settings(why)) => {
                        // Not this message's fault: the try does not count.
                        let tries = m.tries.saturating_sub(1);
                        outbox::put_off(tx, m.id, at.plus(TimeDelta::minutes(15)), why, tries)?;
                        None
                    }
                    Err(SendFailure::Later(why)) => match wait_after(m.tries) {
                        Some(wait) => {
                            outbox::put_off(tx, m.id, at.plus(wait), why, m.tries)?;
                            None
                        }
                        None => Some((failed_line(&m), format!("Given up after {} tries. {why}", m.tries))),
                    },
                    Err(SendFailure::Never(why)) => Some((failed_line(&m), why.clone())),
                };
                let Some((line, detail)) = line else { return Ok(()) };
                if outcome.is_err() {
                    outbox::mark_failed(tx, m.id, at, &detail)?;
                }
                let date = match (m.attachment_kind, m.attachment_id) {
                    (Some(PaperKind::Packet), Some(id)) => Some(sheets::packet(tx.conn(), PacketId(id))?.date_id),
                    _ => None,
                };
                let (customer, reservation) = (m.customer_id, m.reservation_id);
                let line = Line { line, detail, customer, reservation, date, ..Line::default() };
                stories::tell(tx, at, "Gambrel", line)?;
                Ok::<_, Failure>(())
            })
        })
        .await
    }
}

fn failed_line(m: &Message) -> String {
    format!("“{}” could not be mailed to {}.", m.subject, m.to_address)
}

fn wait_after(tries: i64) -> Option<TimeDelta> {
    let wait = backoff(u32::try_from(tries).unwrap_or(u32::MAX))?;
    TimeDelta::from_std(wait).ok()
}

impl Round {
    fn count(&mut self, outcome: &Result<(), SendFailure>, tries: i64) {
        match outcome {
            Ok(()) => self.sent += 1,
            Err(SendFailure::Later(_)) if wait_after(tries).is_some() => self.later += 1,
            Err(SendFailure::Later(_) | SendFailure::Never(_)) => self.failed += 1,
            Err(SendFailure::Settings(_)) => {
                self.later += 1;
                self.settings = true;
            }
        }
    }
}

/// Sends what is due until it is asked to [stop](PostRoom::stop): at once when woken, else every half minute. Wrong settings slow it down
/// to a try an hour, because some mail servers lock an account after refused sign-ins; waking it tries again at once.
pub async fn post_worker(room: PostRoom, wake: Arc<Notify>) {
    let mut troubles: u32 = 0;
    while !room.stopping.load(Ordering::SeqCst) {
        let wait = match room.send_due().await {
            Ok(round) => {
                if round != Round::default() {
                    tracing::info!(sent = round.sent, later = round.later, failed = round.failed, "mail");
                }
                if round.settings {
                    troubles = troubles.saturating_add(1);
                    tracing::warn!("the mail server's settings do not work; see the Outbox");
                    backoff(troubles.min(4)).unwrap_or(LOOK)
                } else {
                    troubles = 0;
                    if round.sent + round.failed + round.later >= ROUND { Duration::ZERO } else { LOOK }
                }
            }
            Err(e) => {
                tracing::error!(error = %e, "the mail worker could not use the book");
                LOOK
            }
        };
        tokio::select! {
            () = wake.notified() => {}
            () = tokio::time::sleep(wait) => {}
        }
    }
}
