//! Sell what is left: unsold quarters by deadline, those who wait for them, and offers that are open.

use super::rows::name;
use crate::book::ids::{DateId, OfferingId, ReservationId};
use crate::book::left::{self, Left, sell_by};
use crate::book::placements::{self, Share};
use crate::book::rows::animals::Animal;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::trade::dates::near;
use crate::trade::left::{of_animal, of_offering};
use crate::trade::placing::choices;
use crate::trade::vocabulary::{Inspection, OfferEnd};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::words::left_to;
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use serde::Deserialize;

/// How many head a page holds.
const PAGE: usize = 40;
/// How many names stand beside a head.
const NAMES: usize = 3;

#[derive(Debug, Deserialize, Default)]
pub(super) struct Query {
    page: Option<String>,
}

/// One head with something left.
struct HeadLine {
    animal: Link,
    missing: String,
    left: Standing,
    until: String,
    date: DateId,
    plant: String,
    custom: bool,
    takers: Vec<Link>,
    more: usize,
}

/// One offering with something left.
struct OfferingLine {
    offering: Link,
    left: String,
    held: String,
    /// Whom the button offers it to: the order and the words on the button.
    next: Option<(ReservationId, String)>,
    waiting: usize,
}

/// An offer that waits for its answer.
struct OfferLine {
    order: ReservationId,
    what: String,
    name: String,
    left: Standing,
}

struct Group {
    id: &'static str,
    heading: &'static str,
    lines: Vec<HeadLine>,
}

#[derive(Template)]
#[template(path = "farm/for_sale/left.html")]
struct LeftPage {
    frame: Frame,
    lead: String,
    groups: Vec<Group>,
    has_custom: bool,
    offerings: Vec<OfferingLine>,
    offers: Vec<OfferLine>,
    earlier: Option<Link>,
    later: Option<Link>,
}

/// Which group a head is in: part-sold at a custom-exempt plant, part-sold elsewhere, nobody's yet.
fn group(missing_all: bool, custom: bool) -> usize {
    match (missing_all, custom) {
        (false, true) => 0,
        (false, false) => 1,
        (true, _) => 2,
    }
}

fn head_line(left: &Left, row: &(Animal, ProcessingDate, Processor), today: NaiveDate) -> Option<(usize, HeadLine)> {
    let (animal, date, plant) = row;
    let own: Vec<Share> = left.shares.iter().filter(|s| s.animal == animal.id).cloned().collect();
    let taken = placements::taken(&own, animal.id);
    let missing = of_animal(&taken)?;
    let custom = plant.inspection == Inspection::Custom;
    let species = |id: OfferingId| left.offerings.iter().find(|o| o.id == id).map(|o| o.species);
    let all: Vec<_> = left
        .line
        .iter()
        .filter(|w| !w.is_open)
        .filter(|w| species(w.offering) == Some(animal.species) && !choices(&taken, w.size, w.part).is_empty())
        .collect();
    let day = sell_by(date, today);
    let what = if day == date.kill_on { "slaughter" } else { "cut sheets due" };
    let words = left_to(day, today);
    let near_end = (day - today).num_days() <= 7;
    Some((
        group(taken.is_empty(), custom),
        HeadLine {
            animal: Link::new(format!("/animals/{}", animal.id), animal.name()),
            missing: capital(&missing),
            left: if near_end { Standing::late(words) } else { Standing::todo(words) },
            until: format!("{what} {}", near(day, today)),
            date: date.id,
            plant: plant.name.clone(),
            custom,
            takers: all
                .iter()
                .take(NAMES)
                .map(|w| {
                    let size = words::kind_alone(w.size, w.part);
                    Link::new(format!("/orders/{}", w.reservation), format!("{} ({size})", w.name))
                })
                .collect(),
            more: all.len().saturating_sub(NAMES),
        },
    ))
}

fn offering_lines(left: &Left) -> Vec<OfferingLine> {
    left.offerings
        .iter()
        .filter_map(|o| {
            let taken = left.taken.get(&o.id).copied().unwrap_or_default();
            let line: Vec<_> = left.line.iter().filter(|w| w.offering == o.id).collect();
            let can = |again: bool| {
                line.iter().find(|w| {
                    !w.is_open
                        && (again || !matches!(w.last, Some(OfferEnd::Declined | OfferEnd::Lapsed)))
                        && taken.sold.and(w.size, w.part, 1).fits(o.head_count)
                })
            };
            let words = of_offering(o.head_count, taken.sold)?;
            let next = can(false).or_else(|| can(true)).map(|w| {
                let again = if w.last.is_some() { " again" } else { "" };
                (w.reservation, format!("Offer a {} to {}{again}", words::kind(w.size, w.part, o.species), w.name))
            });
            Some(OfferingLine {
                offering: Link::new(format!("/for-sale/{}", o.id), name(o)),
                left: capital(&words),
                held: match taken.offered {
                    0 => String::new(),
                    1 => "One more is held for an answer.".into(),
                    n => format!("{n} more are held for an answer."),
                },
                waiting: line.len(),
                next,
            })
        })
        .collect()
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<Query>) -> Answer {
    let today = farmer.now.today;
    let left = app.read(move |c| Ok(left::left(c, today)?)).await?;
    let mut all: Vec<_> = left.head.iter().filter_map(|row| head_line(&left, row, today)).collect();
    // Within a group the order of the query stays: by day, then as entered; custom-exempt plants first.
    all.sort_by_key(|(group, line)| (*group, !line.custom));
    let count = all.len();
    let last = count.saturating_sub(1) / PAGE;
    let at = query.page.as_deref().and_then(|p| p.parse::<usize>().ok()).unwrap_or(0).min(last);
    let mut groups = vec![
        Group { id: "custom", heading: "Part sold, at a custom-exempt plant", lines: Vec::new() },
        Group { id: "part", heading: "Part sold", lines: Vec::new() },
        Group { id: "free", heading: "Nobody’s yet", lines: Vec::new() },
    ];
    for (group, line) in all.into_iter().skip(at.saturating_mul(PAGE)).take(PAGE) {
        if let Some(group) = groups.get_mut(group) {
            group.lines.push(line);
        }
    }
    groups.retain(|g| !g.lines.is_empty());
    let offers = left.open.iter().map(|o| OfferLine {
        order: o.reservation,
        what: format!("{}, {}", capital(&words::kind(o.size, o.part, o.species)), o.season),
        name: o.name.clone(),
        left: if o.answer_by <= today {
            Standing::late(format!("{}, by {}", left_to(o.answer_by, today), near(o.answer_by, today)))
        } else {
            Standing::wait(format!("{}, by {}", left_to(o.answer_by, today), near(o.answer_by, today)))
        },
    });
    Ok(page(&LeftPage {
        frame: farmer.frame(Tab::ForSale),
        lead: match count {
            0 => "Every quarter on the coming dates has an owner.".into(),
            1 => "One head on the coming dates has something left.".into(),
            n => format!("{n} head on the coming dates have something left."),
        },
        has_custom: groups.iter().any(|g| g.lines.iter().any(|l| l.custom)),
        groups,
        offerings: offering_lines(&left),
        offers: offers.collect(),
        earlier: (at > 0).then(|| Link::new(format!("/for-sale/left?page={}", at - 1), "Sooner")),
        later: (at < last).then(|| Link::new(format!("/for-sale/left?page={}", at + 1), "Later")),
    }))
}
