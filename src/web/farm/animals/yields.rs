//! Own yields: what came home against what was forecast, by processor, by way of cutting, by animal and share by share.

use crate::actions::own_yields::{Came, Group, came_home, grouped};
use crate::trade::dates::near;
use crate::trade::weight::Weight;
use crate::trade::yields::{Asked, K, MOST, Observed, learn};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;

/// Animals and shares that are listed one by one; what is learned from is more.
const LISTED: usize = 60;

/// A line of one of the first two tables.
struct Line {
    what: String,
    n: String,
    forecast: String,
    actual: String,
    percent: String,
    factor: String,
}

/// A line of the table of animals.
struct Head {
    animal: Link,
    when: String,
    plant: String,
    n: usize,
    forecast: String,
    actual: String,
    percent: String,
}

/// A line of the table of shares.
struct Share {
    order: Link,
    style: String,
    hung: String,
    range: String,
    actual: String,
    percent: String,
    told: String,
    /// Why it is not learned from, or empty.
    why: &'static str,
}

#[derive(Template)]
#[template(path = "farm/animals/yields.html")]
struct YieldsPage {
    frame: Frame,
    lead: String,
    unit: &'static str,
    k: i64,
    most: usize,
    plants: Vec<Line>,
    styles: Vec<Line>,
    heads: Vec<Head>,
    shares: Vec<Share>,
    /// That some lie outside the range; empty when none does.
    left_out: String,
    not_listed: usize,
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    let all = app.read(move |c| came_home(c, &farm, today)).await?;
    Ok(page(&yields_page(&farmer, &all)))
}

/// Hundredths as a weight, also where many add up to more than one weight can be.
fn weight(hundredths: i64) -> String {
    Weight::from_hundredths(hundredths).short()
}

fn percent<K>(group: &Group<K>) -> String {
    group.ratio().map_or_else(|| "—".to_string(), |r| r.percent())
}

fn line<K>(group: &Group<K>, what: String, factor: String) -> Line {
    let n = if group.counted == group.shares {
        group.shares.to_string()
    } else {
        format!("{} of {}", group.counted, group.shares)
    };
    Line { what, n, forecast: weight(group.forecast), actual: weight(group.actual), percent: percent(group), factor }
}

fn yields_page(farmer: &Farmer, all: &[Came]) -> YieldsPage {
    let today = farmer.now.today;
    let seen: Vec<Observed<_>> = all.iter().map(|came| came.seen).collect();
    let left_out = seen.iter().filter(|s| !s.counts()).count();
    let plants = grouped(all, |came| (came.seen.species, came.seen.plant, came.plant_name.clone()));
    let plants = plants.iter().map(|group| {
        let (species, plant, name) = &group.of;
        let asked = Asked { species: *species, plant: Some(*plant), style: None };
        line(group, format!("{name}, {}", species.label()), learn(&seen, &asked).factor.shown())
    });
    let styles = grouped(all, |came| (came.seen.species, came.seen.plant, came.seen.style, came.plant_name.clone()));
    let styles = styles.iter().map(|group| {
        let (species, plant, style, name) = &group.of;
        let asked = Asked { species: *species, plant: Some(*plant), style: Some(*style) };
        let what = format!("{}, {}, {name}", capital(species.label()), style.label());
        line(group, what, learn(&seen, &asked).factor.shown())
    });
    let heads = grouped(all, |came| (came.animal, came.animal_name.clone(), came.kill_on, came.plant_name.clone()));
    let heads = heads.iter().take(LISTED).map(|group| {
        let (id, name, kill_on, plant) = &group.of;
        Head {
            animal: Link::new(format!("/animals/{id}"), name.clone()),
            when: near(*kill_on, today),
            plant: plant.clone(),
            n: group.shares,
            forecast: weight(group.forecast),
            actual: weight(group.actual),
            percent: percent(group),
        }
    });
    let shares = all.iter().take(LISTED).map(|came| share(came, farmer));
    let lead = match (all.len(), left_out) {
        (0, _) => {
            "Nobody has told yet what came home. Until then every forecast rests on published figures.".to_string()
        }
        (1, 0) => "One share came home, and the forecast learns from it.".to_string(),
        (n, 0) => format!("{} came home, and the forecast learns from them.", capital(&counted(n, "share", "shares"))),
        (n, out) => format!(
            "{} came home; the forecast learns from {} of them.",
            capital(&counted(n, "share", "shares")),
            count(n.saturating_sub(out)).to_lowercase()
        ),
    };
    YieldsPage {
        frame: farmer.frame(Tab::Animals),
        lead,
        unit: farmer.unit(),
        k: K,
        most: MOST,
        plants: plants.collect(),
        styles: styles.collect(),
        heads: heads.collect(),
        shares: shares.collect(),
        left_out: match left_out {
            0 => String::new(),
            1 => "One lies outside the published range and is not learned from".into(),
            n => format!("{} lie outside the published range and are not learned from", count(n)),
        },
        not_listed: all.len().saturating_sub(LISTED),
    }
}

fn share(came: &Came, farmer: &Farmer) -> Share {
    let band = came.seen.forecast;
    Share {
        order: Link::new(format!("/orders/{}/came-home", came.order), came.number.clone()),
        style: format!("{}, {}", capital(came.seen.species.label()), came.seen.style.label()),
        hung: came.hung.short(),
        range: crate::trade::cuts::said::range(band.low, band.high, farmer.farm.unit),
        actual: came.seen.actual.short(),
        percent: came.seen.ratio().map_or_else(|| "—".to_string(), |r| r.percent()),
        told: capital(came.source.label()),
        why: if came.seen.counts() { "" } else { "Outside the published range, not learned from" },
    }
}
