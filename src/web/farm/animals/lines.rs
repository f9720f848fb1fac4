//! The lines of an animal's page: live weights, treatments, what hung, and its story.

use crate::book::ids::{LiveWeightId, TreatmentId};
use crate::book::rows::animals::{LiveWeight, Treatment, WeighIn};
use crate::book::rows::stories::Story;
use crate::trade::dates::{full, hour, short};
use crate::trade::decimal::round_fixed;
use crate::trade::dressing::{percent_tenths, shown};
use crate::trade::vocabulary::{Condemned, WeighMethod};
use crate::trade::weight::Weight;
use crate::trade::withdrawal;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Standing, StoryLine};
use chrono::NaiveDate;
use rust_decimal::Decimal;

pub(super) struct WeightLine {
    pub(super) id: LiveWeightId,
    pub(super) day: String,
    pub(super) how: String,
    pub(super) weight: String,
    pub(super) gain: String,
}

pub(super) struct TreatmentLine {
    pub(super) id: TreatmentId,
    pub(super) product: String,
    pub(super) last: String,
    pub(super) days: i64,
    pub(super) clear: Standing,
    pub(super) notes: String,
}

pub(super) fn weights(live: &[LiveWeight], tape: &str) -> Vec<WeightLine> {
    let before = live.iter().skip(1).map(Some).chain([None]);
    live.iter()
        .zip(before)
        .map(|(w, before)| {
            let how = match (w.method, w.girth, w.length) {
                (WeighMethod::Girth, Some(girth), Some(length)) => {
                    let shown = |n| Weight::from_hundredths(n).short();
                    format!("Girth {} {tape}, length {} {tape}", shown(girth), shown(length))
                }
                _ => "Scale".to_string(),
            };
            let gain = before.and_then(|b| gain(w, b)).unwrap_or_else(|| "–".into());
            let about = if w.method == WeighMethod::Girth { "about " } else { "" };
            WeightLine { id: w.id, day: full(w.weighed_on), how, weight: format!("{about}{}", w.weight.short()), gain }
        })
        .collect()
}

/// Gain a day between two weighings, to a tenth of the unit.
fn gain(now: &LiveWeight, before: &LiveWeight) -> Option<String> {
    let days = now.weighed_on.signed_duration_since(before.weighed_on).num_days();
    let gained = now.weight.decimal().checked_sub(before.weight.decimal())?;
    let tenths = round_fixed(gained.checked_div(Decimal::from(days))?, 1)?;
    Some(Decimal::new(tenths, 1).to_string().replace('-', "−"))
}

pub(super) fn treatment(t: &Treatment, today: NaiveDate) -> TreatmentLine {
    let time = withdrawal::read_time(&t.last_dose_time).ok().flatten();
    let last = match time {
        Some(time) => format!("{}, {}", full(t.last_dose_on), hour(time)),
        None => full(t.last_dose_on),
    };
    let clear = match t.earliest_kill_day() {
        Ok(day) if day <= today => Standing::done(format!("Clear since {}", short(day, today))),
        Ok(day) => Standing::todo(format!("Not before {}", full(day))),
        Err(e) => Standing::late(e.to_string()),
    };
    TreatmentLine { id: t.id, product: t.product.clone(), last, days: t.withdrawal_days, clear, notes: t.notes.clone() }
}

pub(super) fn hanging(weighed: Option<&WeighIn>, live: Option<&LiveWeight>, unit: &str) -> Option<(String, String)> {
    let w = weighed?;
    if w.condemned == Condemned::Whole {
        return Some(("Condemned".into(), w.condemned_note.clone()));
    }
    let total = w.recorded().ok()?;
    let percent = live.and_then(|live| percent_tenths(live.weight, total));
    let of = percent.map(|p| format!(", {} of live weight", shown(p))).unwrap_or_default();
    let pair = |left: Weight, right: Weight| format!("left {}, right {}", left.shown(), right.shown());
    let mut parts = match (w.left_side, w.right_side, w.left_fore, w.left_hind, w.right_fore, w.right_hind) {
        (Some(left), Some(right), ..) => pair(left, right),
        (_, _, Some(lf), Some(lh), Some(rf), Some(rh)) => format!(
            "left fore {}, left hind {}, right fore {}, right hind {}",
            lf.shown(),
            lh.shown(),
            rf.shown(),
            rh.shown()
        ),
        _ => String::new(),
    };
    if w.condemned == Condemned::Parts {
        parts.push_str(&format!(" · parts condemned: {}", w.condemned_note));
    }
    Some((format!("{} {unit}, {}{of}", total.shown(), w.basis.as_str()), parts))
}

pub(super) fn story(lines: &[Story], farmer: &Farmer) -> Vec<StoryLine> {
    let zone = farmer.now.zone;
    lines
        .iter()
        .filter(|s| farmer.may_read(s))
        .map(|s| {
            let detail = if s.detail.is_empty() { s.actor.clone() } else { format!("{} · {}", s.detail, s.actor) };
            StoryLine::new(short(s.at.day(zone), farmer.now.today), format!("{}.", s.line.trim_end_matches('.')))
                .why(detail)
        })
        .collect()
}
