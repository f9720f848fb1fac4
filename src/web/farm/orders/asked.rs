//! The fields of what an order asks of the planner: read, and filled in again. They stand in two forms.

use crate::actions::ask_place::{LONGEST_GROUP, MOST_CHOICES};
use crate::book::ids::DateId;
use crate::book::rows::selling::Reservation;
use crate::book::wishes::Wishes;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;

/// The fields' labels, for showing two versions side by side.
pub(super) const LABELS: &[(&str, &str)] = &[
    ("preferred_date", "Date"),
    ("choice_2", "Second choice"),
    ("choice_3", "Third choice"),
    ("choice_4", "Fourth choice"),
    ("only_these", "Only these dates"),
    ("together", "Together with"),
    ("weight_low", "At least"),
    ("weight_high", "At most"),
];

/// The first choice of date and the other wishes; a blank choice is passed over.
pub(super) fn read(form: &mut FormIn) -> Option<(Option<DateId>, Wishes)> {
    let mut chosen = Vec::new();
    let mut whole = true;
    for n in 1..=MOST_CHOICES {
        let (name, label) = match n {
            1 => ("preferred_date".to_string(), "Date"),
            _ => (format!("choice_{n}"), "Choice of date"),
        };
        match form.optional_id(&name, label) {
            Some(id) => chosen.extend(id.map(DateId)),
            None => whole = false,
        }
    }
    let together = form.optional_text("together", "Together with", LONGEST_GROUP);
    let (low, high) = (form.optional_weight("weight_low", "At least"), form.optional_weight("weight_high", "At most"));
    let (together, low, high) = (together?, low?, high?);
    let mut chosen = chosen.into_iter();
    let first = chosen.next();
    let later: Vec<DateId> = chosen.collect();
    let only_these = first.is_some() && form.tick("only_these");
    whole.then_some((first, Wishes { later, only_these, together, low, high }))
}

/// The fields as they are stored.
pub(super) fn stored(draft: Draft, r: &Reservation, asked: &Wishes) -> Draft {
    let mut draft = draft.with("preferred_date", r.preferred_date_id.map(|d| d.to_string()).unwrap_or_default());
    for (n, date) in (2_usize..).zip(&asked.later) {
        draft = draft.with(format!("choice_{n}"), date.to_string());
    }
    draft
        .with_some("only_these", asked.only_these.then_some("yes"))
        .with("together", asked.together.clone())
        .with("weight_low", asked.low.map(|w| w.short()).unwrap_or_default())
        .with("weight_high", asked.high.map(|w| w.short()).unwrap_or_default())
}
