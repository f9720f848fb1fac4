//! Correcting a hanging weight after invoices went out: the old and the new invoices stand side by side before anything is done.

use crate::actions::Failure;
use crate::actions::correct_weight::{Again, Correction, correct_weight};
use crate::actions::record_weights::confirming;
use crate::book::ids::AnimalId;
use crate::book::{animals, carcasses};
use crate::trade::carcass::Hung;
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::sync::{Arc, Mutex, PoisonError};

/// One row: name, old and new weight, old and new total, the difference, what is owed then.
struct Row {
    who: String,
    old: (String, String),
    new: (String, String),
    difference: String,
    balance: String,
}

#[derive(Template)]
#[template(path = "farm/invoices/correct.html")]
struct CorrectPage {
    frame: Frame,
    draft: Draft,
    animal: Link,
    unit: &'static str,
    /// Name and label of each weight.
    weights: Vec<(&'static str, &'static str)>,
    /// What it would come to, once it was reckoned.
    rows: Vec<Row>,
    /// What the farmer is asked to confirm: these totals.
    seen: String,
    /// Doubtful weights, as a tick repeats them.
    doubtful: String,
}

const fn named(hung: &Hung) -> &'static [(&'static str, &'static str)] {
    match hung {
        Hung::Total(_) => &[("total", "Whole carcass")],
        Hung::Sides { .. } => &[("left", "Left side"), ("right", "Right side")],
        Hung::Quarters { .. } => &[
            ("left_fore", "Left forequarter"),
            ("left_hind", "Left hindquarter"),
            ("right_fore", "Right forequarter"),
            ("right_hind", "Right hindquarter"),
        ],
    }
}

fn values(hung: Hung) -> Vec<Weight> {
    match hung {
        Hung::Total(total) => vec![total],
        Hung::Sides { left, right } => vec![left, right],
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            vec![left_fore, left_hind, right_fore, right_hind]
        }
    }
}

fn read(form: &mut FormIn, was: &Hung) -> Option<Hung> {
    let mut all = Vec::new();
    for (name, label) in named(was) {
        all.push(form.weight(name, label));
    }
    match (was, all.as_slice()) {
        (Hung::Total(_), [total]) => Some(Hung::Total((*total)?)),
        (Hung::Sides { .. }, [left, right]) => Some(Hung::Sides { left: (*left)?, right: (*right)? }),
        (Hung::Quarters { .. }, [a, b, c, d]) => {
            Some(Hung::Quarters { left_fore: (*a)?, left_hind: (*b)?, right_fore: (*c)?, right_hind: (*d)? })
        }
        _ => None,
    }
}

/// What a farmer confirms: every new total, so that a change in between is noticed.
fn seen(all: &[Again]) -> String {
    all.iter().map(|a| format!("{}={}", a.order, a.balance.plain())).collect::<Vec<_>>().join(" ")
}

fn rows(all: &[Again]) -> Vec<Row> {
    all.iter()
        .map(|a| Row {
            who: format!("{}, {}", a.who, a.old_number),
            old: (a.old.0.shown(), a.old.1.shown()),
            new: (a.new.0.shown(), a.new.1.shown()),
            difference: a.new.1.minus(a.old.1).map(|m| m.shown()).unwrap_or_default(),
            balance: if a.balance.cents() < 0 {
                format!("{} becomes credit", a.balance.negated().dollars())
            } else {
                format!("{} owed", a.balance.dollars())
            },
        })
        .collect()
}

/// What was weighed; none when nothing was.
async fn stored(app: &App, id: AnimalId) -> Result<(String, Option<(i64, Hung)>), PageError> {
    Ok(app
        .read(move |c| {
            let animal = animals::get(c, id)?;
            let weighed = carcasses::weigh_ins(c, &[id])?.remove(&id);
            Ok((animal.name(), weighed.and_then(|w| w.hung().map(|h| (w.version, h)))))
        })
        .await?)
}

async fn form_page(
    farmer: &Farmer,
    app: &App,
    id: AnimalId,
    draft: Option<Draft>,
    (again, doubtful): (&[Again], String),
) -> Result<CorrectPage, PageError> {
    let (name, weighed) = stored(app, id).await?;
    let mut fresh = Draft::empty().with("tell", "yes");
    if let Some((version, hung)) = &weighed {
        fresh = fresh.with("version", version.to_string());
        for ((name, _), weight) in named(hung).iter().zip(values(*hung)) {
            fresh = fresh.with(*name, weight.plain());
        }
    }
    Ok(CorrectPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or(fresh),
        animal: Link::new(format!("/animals/{id}"), name),
        unit: farmer.farm.unit.as_str(),
        weights: weighed.map_or(Vec::new(), |(_, hung)| named(&hung).to_vec()),
        rows: rows(again),
        seen: seen(again),
        doubtful,
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such animal.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, AnimalId(*id), None, (&[], String::new())).await?))
}

/// Shows what it would come to; once that was confirmed, does it.
///
/// # Errors
/// 404 when there is no such animal; 409 when somebody saved in between.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = AnimalId(*id);
    let (mut form, key) = sent.with_key();
    let Some((_, was)) = stored(&app, id).await?.1 else {
        return Err(PageError::Failed(Failure::refuse("", "It has no hanging weight yet. Enter it at the weigh-in.")));
    };
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        read(&mut form, &was),
        form.text("reason", "Reason", 300),
    );
    let (confirmed, tell, seen_before) = (form.line("ok"), form.tick("tell"), form.line("seen"));
    let (version, hung, reason) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft), (&[], String::new())).await?)),
    };
    let input = Correction { version, hung, confirmed, reason };
    let would_be: Arc<Mutex<Vec<Again>>> = Arc::default();
    let kept = would_be.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        let all = correct_weight(tx, doing, id, &input, tell)?;
        if seen(&all) != seen_before {
            // Reckoned in full and taken back with the transaction: nothing is done before it was looked over.
            *kept.lock().unwrap_or_else(PoisonError::into_inner) = all;
            return Err(Failure::refuse("", "Look the new invoices over. Nothing is done before you confirm them."));
        }
        Ok(match all.as_slice() {
            [one] => format!("/invoices/{}", one.id),
            _ => "/money".to_string(),
        })
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The weight is corrected and the invoices are issued anew.")),
        Err(f) => {
            let is_doubtful = matches!(&f, Failure::Refused(p) if p.0.iter().any(|p| p.field == "ok"));
            let doubtful = if is_doubtful || !form.is_blank("ok") { confirming(hung) } else { String::new() };
            let again = would_be.lock().unwrap_or_else(PoisonError::into_inner).clone();
            let draft = if again.is_empty() {
                refusal(&form, f)?
            } else {
                // It is no mistake that is shown, but what is to be confirmed.
                form.into_draft()
            };
            Ok(refused(&form_page(&farmer, &app, id, Some(draft), (&again, doubtful)).await?))
        }
    }
}
