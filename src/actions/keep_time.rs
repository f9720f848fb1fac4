//! The clock worker: what Gambrel does by itself as days go by.
//!
//! Each job is one transaction that looks at what stands in the book and writes, in the same transaction, that it did it. So it
//! may be run again, and by two programs on one book, without doing anything twice. A job that fails is tried again at the
//! next round; the others run all the same.

use super::sheet_time::{remind_missing, standard_when_time_is_up};
use super::{Doing, Failure};
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::store::{Store, Tx};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;

/// The name that stands in stories for what nobody asked for.
pub const BY_ITSELF: &str = "Gambrel";
/// How often the jobs run.
const EVERY: Duration = Duration::from_secs(180);

/// One job: what it is called in the log, and what it does. It returns how many things it did.
#[derive(Clone, Copy)]
pub struct Job {
    /// A few words for the log.
    pub name: &'static str,
    /// What it does, in one transaction.
    pub run: fn(&mut Tx, &Doing) -> Result<usize, Failure>,
}

/// All jobs, in order. A new one is added here.
pub const JOBS: &[Job] = &[
    Job { name: "reminders of cut sheets", run: remind_missing },
    Job { name: "standard cut when time is up", run: standard_when_time_is_up },
    Job { name: "news of what plants entered", run: super::plant_news::tell_news },
    Job { name: "offers from the waiting list that lapse", run: super::offer_share::lapse_offers },
    Job { name: "requests that were not confirmed", run: super::confirm_request::forget_unconfirmed },
    Job { name: "reminders of pickup", run: super::pickup_time::remind_of_pickup },
    Job { name: "letters about overdue balances", run: super::balance_letter::remind_of_balances },
];

/// Gambrel acting by itself, on the farm's day; none while the farm is not set up.
///
/// # Errors
/// The database's own.
pub fn by_itself(c: &mut DbConn, at: At) -> Result<Option<Doing>, Failure> {
    let farm = match farm::get(c) {
        Ok(farm) if farm.set_up_at.is_some() => farm,
        Ok(_) | Err(diesel::result::Error::NotFound) => return Ok(None),
        Err(e) => return Err(e.into()),
    };
    let zone = farm.zone();
    Ok(Some(Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: BY_ITSELF.into() }))
}

/// Runs each job once; how many things each did, or why not.
pub fn run_all(store: &Store, at: At, jobs: &[Job]) -> Vec<(&'static str, Result<usize, Failure>)> {
    let once = |job: &Job| {
        store.write(|tx| match by_itself(tx.conn(), at)? {
            Some(doing) => (job.run)(tx, &doing),
            None => Ok(0),
        })
    };
    jobs.iter().map(|job| (job.name, once(job))).collect()
}

/// Runs the jobs at once and then every few minutes, for as long as the service runs; wakes the mail worker when one of them
/// did something. It may be aborted at any time: a job is written whole or not at all.
pub async fn clock_worker(store: Store, now: impl Fn() -> At + Send + Sync + 'static, mail: Arc<Notify>) {
    loop {
        let (store, at) = (store.clone(), now());
        match tokio::task::spawn_blocking(move || run_all(&store, at, JOBS)).await {
            Ok(all) => {
                for (job, outcome) in &all {
                    match outcome {
                        Ok(0) => {}
                        Ok(n) => tracing::info!(job, done = n, "by itself"),
                        Err(e) => tracing::error!(job, error = %e, "a job of the clock failed and is tried again"),
                    }
                }
                if all.iter().any(|(_, outcome)| matches!(outcome, Ok(n) if *n > 0)) {
                    mail.notify_one();
                }
            }
            Err(e) => tracing::error!(error = %e, "the clock worker stumbled"),
        }
        tokio::time::sleep(EVERY).await;
    }
}
