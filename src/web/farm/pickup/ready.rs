//! Saying that meat is ready: all orders of a date, or some; in how many boxes, if somebody counted.

use super::list::to_pay;
use crate::actions::Failure;
use crate::actions::pickup_list::pickup_list;
use crate::actions::say_ready::{Packed, say_ready};
use crate::book::ids::{DateId, ReservationId};
use crate::book::plant_entries::boxes_of;
use crate::trade::dates::{long, near};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

struct Line {
    order: ReservationId,
    name: String,
    share: String,
    money: Standing,
    standing: Standing,
    /// What the plant entered: "Pell Road Meats counted 3", or empty.
    counted: String,
    box_field: String,
}

#[derive(Template)]
#[template(path = "farm/pickup/ready.html")]
struct ReadyPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    date: Link,
    lines: Vec<Line>,
    has_windows: bool,
    rule: String,
    storage: String,
}

async fn ready_page(farmer: &Farmer, app: &App, id: DateId, draft: Option<Draft>) -> Result<ReadyPage, Failure> {
    let (farm, now) = (farmer.farm.clone(), farmer.now);
    let (list, counted) = app
        .read(move |c| {
            let list = pickup_list(c, &farm, now, id)?;
            let orders: Vec<ReservationId> = list.rows.iter().map(|r| r.order.id).collect();
            // What the plant counted and the farm took, where anybody has counted.
            let mut counted = boxes_of(c, &orders)?;
            counted.retain(|_, b| b.boxes > 0);
            Ok((list, counted))
        })
        .await?;
    let today = now.today;
    let open: Vec<_> = list.rows.iter().filter(|r| r.collected_at().is_none()).collect();
    let by_plant = |order: ReservationId| counted.get(&order).map(|b| b.boxes);
    let mut filled = Draft::empty();
    for r in &open {
        let ready = r.pickup.ready.as_ref();
        let boxes = ready.and_then(|ready| ready.boxes).or_else(|| by_plant(r.order.id));
        filled = filled.with_some(format!("boxes-{}", r.order.id), boxes.map(|n| n.to_string()));
        if ready.is_none() {
            filled = filled.with("order", r.order.id.to_string());
        }
    }
    let lines = open.iter().map(|r| Line {
        order: r.order.id,
        name: r.who.name.clone(),
        share: format!("{}, order {}", words::share(&r.order, &r.offering), r.order.number),
        money: match r.owed() {
            None => Standing::todo("Not invoiced"),
            Some(b) if b.is_positive() => Standing::todo(to_pay(farmer, b)),
            Some(_) => Standing::done("Paid"),
        },
        standing: match &r.pickup.ready {
            Some(ready) => Standing::done(format!("Told {}", near(ready.ready_on, today))),
            None => Standing::wait("Not told"),
        },
        counted: by_plant(r.order.id).map_or(String::new(), |n| format!("{} counted {n}", list.plant.name)),
        box_field: format!("boxes-{}", r.order.id),
    });
    Ok(ReadyPage {
        frame: farmer.frame(Tab::Dates),
        draft: draft.unwrap_or(filled),
        id,
        date: Link::new(format!("/dates/{id}"), long(list.date.kill_on, today)),
        lines: lines.collect(),
        has_windows: !list.windows.is_empty(),
        rule: list.rule.hold_words().into(),
        storage: list.rule.storage().words(Some(today)),
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&ready_page(&farmer, &app, *id, None).await?))
}

pub(super) async fn say(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let chosen = form.ids("order", "Orders");
    let mut boxes = Vec::new();
    for order in chosen.iter().flatten() {
        boxes.push(form.optional_whole_number(&format!("boxes-{order}"), "Boxes", 1..=999));
    }
    let chosen = match form.finish((chosen,)) {
        Ok((chosen,)) => chosen,
        Err(draft) => return Ok(refused(&ready_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let packed: Vec<Packed> = chosen
        .iter()
        .zip(boxes)
        .map(|(order, boxes)| Packed { order: ReservationId(*order), boxes: boxes.flatten() })
        .collect();
    let n = packed.len();
    let done = app.act(&farmer, &key, move |tx, doing| {
        say_ready(tx, doing, id, &packed)?;
        Ok(format!("/dates/{id}/pickup"))
    });
    match done.await {
        Ok(url) => {
            let says =
                format!("{} ready. The notices are in the Outbox.", capital(&counted(n, "order is", "orders are")));
            Ok(notice::with(see_other(&url), &says))
        }
        Err(f) => Ok(refused(&ready_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
