//! What came home of a date: the packaged weights of all its shares on one form.

use crate::actions::Failure;
use crate::actions::tell_packaged::{PackagedIn, tell_several};
use crate::book::ids::{DateId, ReservationId};
use crate::book::packaged::{self, Told};
use crate::book::rows::people::Customer;
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::{dates, pickups};
use crate::trade::dates::{long, near};
use crate::trade::vocabulary::PackagedBy;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// One share of the form.
struct Line {
    order: Link,
    name: String,
    share: String,
    /// What the processor and the customer told, or empty.
    others: String,
    /// Its field, and the one that says which revision was shown.
    field: String,
    version: String,
}

#[derive(Template)]
#[template(path = "farm/dates/came_home.html")]
struct CameHomePage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    lead: String,
    lines: Vec<Line>,
    unit: &'static str,
}

struct Seen {
    kill_on: NaiveDate,
    plant: String,
    orders: Vec<(Reservation, Customer, Offering)>,
    told: HashMap<ReservationId, Told>,
}

impl Seen {
    /// What the farmer told last of an order: the revision, and the weight as it stands in the field.
    fn stands(&self, order: ReservationId) -> (i64, String) {
        let last = self.told.get(&order).and_then(|t| t.farm.as_ref());
        (last.map_or(0, |l| l.revision), last.and_then(|l| l.weight).map_or(String::new(), |w| w.short()))
    }

    fn stored(&self, today: NaiveDate) -> Draft {
        self.orders.iter().fold(Draft::empty().with("on_day", today.to_string()), |draft, (r, ..)| {
            let (revision, weight) = self.stands(r.id);
            draft.with(field(r.id), weight).with(version(r.id), revision.to_string())
        })
    }
}

fn field(order: ReservationId) -> String {
    format!("weight-{order}")
}

fn version(order: ReservationId) -> String {
    format!("version-{order}")
}

async fn look(app: &App, id: DateId) -> Result<Seen, Failure> {
    app.read(move |c| {
        let (date, plant) = dates::get(c, id)?;
        let orders = pickups::orders_on(c, id)?;
        let ids: Vec<_> = orders.iter().map(|(r, ..)| r.id).collect();
        Ok(Seen { kill_on: date.kill_on, plant: plant.name, told: packaged::of(c, &ids)?, orders })
    })
    .await
}

fn line(seen: &Seen, (r, customer, o): &(Reservation, Customer, Offering), unit: &str) -> Line {
    let told = seen.told.get(&r.id);
    let others = [PackagedBy::Plant, PackagedBy::Customer].into_iter().filter_map(|source| {
        let weight = told?.weight(source)?;
        Some(format!("{} {unit} by {}", weight.short(), source.label()))
    });
    Line {
        order: Link::new(format!("/orders/{}/came-home", r.id), r.number.clone()),
        name: customer.name.clone(),
        share: words::share(r, o),
        others: others.collect::<Vec<_>>().join(", "),
        field: field(r.id),
        version: version(r.id),
    }
}

fn came_home_page(farmer: &Farmer, id: DateId, seen: &Seen, draft: Option<Draft>) -> CameHomePage {
    let (today, unit) = (farmer.now.today, farmer.unit());
    CameHomePage {
        frame: farmer.frame(Tab::Dates),
        draft: draft.unwrap_or_else(|| seen.stored(today)),
        id,
        day: near(seen.kill_on, today),
        lead: format!(
            "Slaughtered {} at {}. Leave blank what you did not weigh; what the processor entered, and then what a customer told, \
             counts where you tell nothing.",
            long(seen.kill_on, today),
            seen.plant
        ),
        lines: seen.orders.iter().map(|order| line(seen, order, unit)).collect(),
        unit,
    }
}

/// The form.
pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let seen = look(&app, *id).await?;
    Ok(page(&came_home_page(&farmer, *id, &seen, None)))
}

/// Keeps what was changed.
pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let seen = look(&app, id).await?;
    let on = form.date("on_day", "Weighed on");
    let mut rows = Vec::new();
    for (r, customer, _) in &seen.orders {
        let weight = form.optional_weight(&field(r.id), &format!("Packaged weight of {}", customer.name));
        let shown = form.whole_number(&version(r.id), "Version", 0..=i64::MAX);
        rows.push(weight.zip(shown).map(|(weight, shown)| (r.id, weight, shown)));
    }
    let rows: Option<Vec<_>> = rows.into_iter().collect();
    let (on, rows) = match form.finish((on, rows)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&came_home_page(&farmer, id, &seen, Some(draft)))),
    };
    // What stands there already keeps its day.
    let stands = |order: ReservationId| seen.told.get(&order).and_then(|t| t.farm.as_ref()?.weight);
    let changed: Vec<(ReservationId, PackagedIn)> = rows
        .into_iter()
        .filter(|(order, weight, _)| *weight != stands(*order))
        .map(|(order, weight, seen)| (order, PackagedIn { weight, on, seen }))
        .collect();
    let done = app.act(&farmer, &key, move |tx, doing| {
        tell_several(tx, doing, &changed)?;
        Ok(format!("/dates/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let now = look(&app, id).await?;
            let typed = form.refuse(
                "",
                "Somebody told another weight of one of these shares after this page was shown. Nothing was saved. Look it over and save again.",
            );
            let draft = now.orders.iter().fold(typed.headed("Something changed in between"), |draft, (r, ..)| {
                draft.without(&version(r.id)).with(version(r.id), now.stands(r.id).0.to_string())
            });
            Ok(refused(&came_home_page(&farmer, id, &now, Some(draft))))
        }
        Err(f) => Ok(refused(&came_home_page(&farmer, id, &seen, Some(refusal(&form, f)?)))),
    }
}
