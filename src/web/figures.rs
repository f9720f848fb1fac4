//! Figures for a monitor, in the open Prometheus text format: how many answers of which kind, how long they took, mail that waits,
//! the age of the last verified copy. They are served on an address of their own, which is off by default and on this machine only,
//! so that nothing about the farm reaches a stranger. No figure names a person, an address or an amount.

use super::app::App;
use super::errors::Answer;
use crate::book::outbox;
use crate::keep;
use actix_web::{HttpResponse, web};
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::{Registry, Unit};
use std::time::Duration;

/// Upper ends of the classes of time an answer may take, in seconds.
const CLASSES: [f64; 9] = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0];

/// The kind of an answer: the first figure of its status.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Kind {
    kind: &'static str,
}

/// What is counted while the service runs.
pub struct Figures {
    registry: Registry,
    answers: Family<Kind, Counter>,
    took: Histogram,
    waiting: Gauge,
    failed: Gauge,
    copied: Gauge,
}

impl Figures {
    /// Nothing counted yet, in a program that was started at `started` (milliseconds since 1970 in UTC).
    pub fn new(started: i64) -> Self {
        let mut registry = Registry::with_prefix("gambrel");
        let answers = Family::<Kind, Counter>::default();
        registry.register("answers", "Answers by the first figure of their status", answers.clone());
        let took = Histogram::new(CLASSES);
        registry.register_with_unit("answer", "Time an answer took", Unit::Seconds, took.clone());
        let (waiting, failed, copied) = (Gauge::default(), Gauge::default(), Gauge::default());
        registry.register("mails_waiting", "Mails that wait to be sent", waiting.clone());
        registry.register("mails_failed", "Mails that could not be sent", failed.clone());
        registry.register_with_unit(
            "last_verified_copy",
            "When the newest verified copy of the book was made, since 1970 in UTC; 0 = there is none here",
            Unit::Seconds,
            copied.clone(),
        );
        let begun = Gauge::<i64>::default();
        begun.set(started / 1000);
        registry.register_with_unit("started", "When the program was started, since 1970 in UTC", Unit::Seconds, begun);
        Self { registry, answers, took, waiting, failed, copied }
    }

    /// Counts an answer.
    pub fn answered(&self, status: u16, took: Duration) {
        let kind = match status {
            ..200 => "1xx",
            200..300 => "2xx",
            300..400 => "3xx",
            400..500 => "4xx",
            _ => "5xx",
        };
        self.answers.get_or_create(&Kind { kind }).inc();
        self.took.observe(took.as_secs_f64());
    }

    /// All figures as text.
    ///
    /// # Errors
    /// When they cannot be written, which does not happen.
    pub fn text(&self) -> Result<String, std::fmt::Error> {
        let mut text = String::new();
        encode(&mut text, &self.registry)?;
        Ok(text)
    }
}

/// `GET /metrics`, on the monitor's address only.
///
/// # Errors
/// 500 when the book cannot be read.
pub async fn metrics(app: web::Data<App>) -> Answer {
    let counts = app.read(|c| Ok(outbox::counts(c)?)).await?;
    app.figures.waiting.set(counts.waiting);
    app.figures.failed.set(counts.failed);
    let config = app.config.clone();
    let kept = web::block(move || keep::daily::status(&config)).await.ok();
    app.figures.copied.set(kept.and_then(|s| s.newest).map_or(0, |r| r.made_at / 1000));
    let text = app.figures.text().map_err(|e| crate::actions::Failure::Unexpected(e.to_string()))?;
    Ok(HttpResponse::Ok().content_type("application/openmetrics-text; version=1.0.0; charset=utf-8").body(text))
}

/// The one route of the monitor's address.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.service(web::resource("/metrics").get(metrics));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_counted_by_kind_and_class_of_time() {
        let figures = Figures::new(1_700_000_000_000);
        figures.answered(200, Duration::from_millis(7));
        figures.answered(204, Duration::from_millis(60));
        figures.answered(422, Duration::from_secs(9));
        let text = figures.text().unwrap();
        for line in [
            "gambrel_answers_total{kind=\"2xx\"} 2",
            "gambrel_answers_total{kind=\"4xx\"} 1",
            "gambrel_answer_seconds_bucket{le=\"0.005\"} 0",
            "gambrel_answer_seconds_bucket{le=\"0.01\"} 1",
            "gambrel_answer_seconds_bucket{le=\"0.1\"} 2",
            "gambrel_answer_seconds_count 3",
            "gambrel_started_seconds 1700000000",
            "# EOF",
        ] {
            assert!(text.lines().any(|l| l == line), "no “{line}” in\n{text}");
        }
    }
}
