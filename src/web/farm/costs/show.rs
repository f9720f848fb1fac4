//! One cost: its animals, and what each bears of it and of all costs.

use super::list::heading;
use crate::actions::enter_cost::take_back_cost;
use crate::book::costs;
use crate::book::ids::{AnimalId, CostId};
use crate::trade::costs::SharedBy;
use crate::trade::dates::long;
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;

struct Row {
    animal: Link,
    hangs: String,
    part: String,
    all: String,
}

#[derive(Template)]
#[template(path = "farm/costs/show.html")]
struct ShowPage {
    frame: Frame,
    id: CostId,
    version: i64,
    heading: String,
    lead: String,
    words: String,
    rows: Vec<Row>,
    total: String,
    total_all: String,
    /// The form for another cost of the same animals.
    again: String,
    is_gone: bool,
    unit: &'static str,
}

/// The page.
///
/// # Errors
/// 404 when there is no such cost.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<CostId>) -> Answer {
    let id = *id;
    let (lot, sums) = app
        .read(move |c| {
            let lot = costs::get(c, id)?;
            let head: Vec<AnimalId> = lot.heads.iter().map(|h| h.animal).collect();
            Ok((lot, costs::per_animal(c, &head)?))
        })
        .await?;
    let sum = |animal: AnimalId| sums.get(&animal).copied().unwrap_or_default();
    let total_all = Money::sum(lot.heads.iter().map(|h| sum(h.animal))).map_err(crate::actions::Failure::from)?;
    let day = long(lot.cost.on_day, farmer.now.today);
    let is_gone = lot.cost.taken_back_at.is_some();
    let shared = match (lot.heads.len(), lot.cost.shared_by, lot.now) {
        _ if is_gone => " It was taken back and counts nowhere.".to_string(),
        (0 | 1, ..) => String::new(),
        (_, SharedBy::Hanging, SharedBy::Head) => {
            " It is shared by hanging weight once all of these hang; until then evenly.".into()
        }
        (_, by, _) => format!(" It is shared {}.", by.label()),
    };
    let again: Vec<String> = lot.heads.iter().map(|h| format!("animals={}", h.animal)).collect();
    Ok(page(&ShowPage {
        frame: farmer.frame(Tab::Money),
        id,
        version: lot.cost.version,
        heading: heading(&lot),
        lead: format!("Of {day}.{shared}"),
        words: lot.cost.words.clone(),
        rows: lot
            .heads
            .iter()
            .map(|h| Row {
                animal: Link::new(format!("/animals/{}", h.animal), h.name.clone()),
                hangs: h.hangs.map_or(String::new(), |w| w.shown()),
                part: if is_gone { String::new() } else { h.part.shown() },
                all: sum(h.animal).shown(),
            })
            .collect(),
        total: if is_gone { String::new() } else { lot.cost.amount.shown() },
        total_all: total_all.shown(),
        again: format!("/costs/new?{}", again.join("&")),
        is_gone,
        unit: farmer.unit(),
    }))
}

/// Takes the cost back.
///
/// # Errors
/// 404 when there is no such cost; a page that says so when somebody changed it in between.
pub(super) async fn take_back(farmer: Farmer, app: web::Data<App>, id: web::Path<CostId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let version = form.line("version").parse().unwrap_or(0);
    let done = app.act(&farmer, &key, move |tx, doing| {
        take_back_cost(tx, doing, id, version)?;
        Ok(format!("/costs/{id}"))
    });
    Ok(notice::with(see_other(&done.await?), "The cost is taken back."))
}
