//! The pickup list of a date: who collects what and when, whether it is paid, and who came. Reads only, in a fixed number of queries.

use super::letterhead::letterhead;
use super::pickup_rules::in_force;
use super::pickup_words::{place_line, window_words};
use super::{Failure, charge_storage};
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PickupWindowId, ReservationId};
use crate::book::pickup_places::{self, Window};
use crate::book::pickups::{self, Pickup};
use crate::book::rows::farm::Farm;
use crate::book::rows::people::Customer;
use crate::book::rows::pickups::PickupRule;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::standing::{self, Facts};
use crate::book::{carcasses, dates, sheets};
use crate::paper::pickup_list::{Group, PickupList, Row as PaperRow};
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::{Band, take_home};
use crate::trade::dates::{full, hour, long};
use crate::trade::money::Money;
use crate::trade::share::Part;
use crate::trade::sheet_json;
use std::collections::HashMap;

/// One order on the list.
#[derive(Debug, Clone)]
pub struct Row {
    /// The order.
    pub order: Reservation,
    /// Whose it is.
    pub who: Customer,
    /// What it was sold from.
    pub offering: Offering,
    /// Where it stands.
    pub facts: Facts,
    /// Its pickup.
    pub pickup: Pickup,
    /// What comes home by its cut sheet and weight, where boxes are not known.
    pub expected: Option<Band>,
    /// Storage that could be charged.
    pub storage: Option<Money>,
}

impl Row {
    /// What is still to be paid; none before the invoice.
    pub fn owed(&self) -> Option<Money> {
        self.facts.balance()
    }
    /// Whether it is held until paid.
    pub fn is_held(&self, rule: &PickupRule) -> bool {
        rule.hold_until_paid && self.owed().is_none_or(|b| b.is_positive())
    }
    /// When it was collected.
    pub const fn collected_at(&self) -> Option<At> {
        self.order.collected_at
    }
    /// The window it was given.
    pub fn window(&self) -> Option<PickupWindowId> {
        self.pickup.window.as_ref().map(|(w, _)| w.id)
    }
    /// "3 boxes", or what is expected to come home: "about 61 lb".
    pub fn amount(&self, unit: &str) -> String {
        match (self.pickup.ready.as_ref().and_then(|r| r.boxes), self.expected) {
            (Some(1), _) => "1 box".into(),
            (Some(n), _) => format!("{n} boxes"),
            (None, Some(band)) => format!("about {} {unit}", band.expected.hundredths().saturating_add(50) / 100),
            (None, None) => String::new(),
        }
    }
}

/// The whole list.
#[derive(Debug, Clone)]
pub struct List {
    /// The date.
    pub date: ProcessingDate,
    /// Its plant.
    pub plant: Processor,
    /// The rule in force.
    pub rule: PickupRule,
    /// The windows, in order of time.
    pub windows: Vec<Window>,
    /// The orders, by number.
    pub rows: Vec<Row>,
}

impl List {
    /// The rows of a window; of none, those that have none.
    pub fn of(&self, window: Option<PickupWindowId>) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(move |r| r.window() == window)
    }
}

/// Reads it.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such date.
pub fn pickup_list(c: &mut DbConn, farm: &Farm, now: Now, id: DateId) -> Result<List, Failure> {
    let (date, plant) = dates::get(c, id)?;
    let orders = pickups::orders_on(c, id)?;
    let ids: Vec<ReservationId> = orders.iter().map(|(r, ..)| r.id).collect();
    let mut facts = standing::facts(c, &orders.iter().map(|(r, ..)| r).collect::<Vec<_>>())?;
    let mut known = pickups::of_orders(c, &ids)?;
    let homes = homes(c, farm, &orders, &facts)?;
    let mut rows = Vec::with_capacity(orders.len());
    for (order, who, offering) in orders {
        let pickup = known.remove(&order.id).unwrap_or_default();
        rows.push(Row {
            storage: charge_storage::proposed(&order, &pickup, now)?.map(|p| p.amount),
            facts: facts.remove(&order.id).unwrap_or_default(),
            expected: homes.get(&order.id).copied(),
            pickup,
            order,
            who,
            offering,
        });
    }
    Ok(List { windows: pickup_places::windows(c, id)?, rule: in_force(c)?, date, plant, rows })
}

/// What comes home of the shares that are weighed and have a cut sheet that can be read.
fn homes(
    c: &mut DbConn,
    farm: &Farm,
    orders: &[(Reservation, Customer, Offering)],
    facts: &HashMap<ReservationId, Facts>,
) -> Result<HashMap<ReservationId, Band>, Failure> {
    let ids: Vec<_> = orders.iter().map(|(r, ..)| r.id).collect();
    let head: Vec<_> = facts.values().filter_map(|f| f.animal.as_ref().map(|a| a.id)).collect();
    let billed: HashMap<ReservationId, _> = carcasses::billed_weights(c, farm, &head)?
        .into_iter()
        .flat_map(|b| b.shares)
        .map(|s| (s.reservation, s.weight))
        .collect();
    let sheets = sheets::of(c, &ids)?;
    let home = |(r, _, o): &(Reservation, Customer, Offering)| {
        let kept = sheet_json::read(&sheets.get(&r.id)?.sheet).ok()?;
        let hanging = Hanging {
            species: o.species,
            unit: farm.unit,
            weight: *billed.get(&r.id)?,
            size: r.size,
            part: r.part.unwrap_or(Part::Split),
            age_months: None,
            head_on: kept.head_on,
            skin_on: kept.skin_on,
        };
        Some((r.id, take_home(&hanging, &kept.sheet).ok()?.packaged))
    };
    Ok(orders.iter().filter_map(home).collect())
}

/// The list as a paper; with `window` that one alone.
pub fn paper(list: &List, farm: &Farm, now: Now, window: Option<PickupWindowId>) -> PickupList {
    let unit = farm.unit.as_str();
    let row = |r: &Row| PaperRow {
        name: r.who.name.clone(),
        phone: r.who.phone.clone(),
        order: r.order.number.clone(),
        share: format!("{} {}", r.order.size.label(), r.offering.species.label()),
        boxes: r.amount(unit),
        balance: match r.owed() {
            None => "not invoiced".into(),
            Some(b) if b.is_positive() => b.dollars(),
            Some(_) => "paid".into(),
        },
        held: r.is_held(&list.rule) && r.collected_at().is_none(),
        collected: r.pickup.collected.as_ref().zip(r.collected_at()).map_or(String::new(), |(c, at)| {
            let local = at.utc().with_timezone(&now.zone);
            format!("{}, {} {}", c.by_name, local.format("%b %-d"), hour(local.time()))
        }),
    };
    let mut groups: Vec<Group> = Vec::new();
    for w in list.windows.iter().filter(|w| window.is_none_or(|id| id == w.window.id)) {
        groups.push(Group {
            heading: window_words(&w.window),
            place: place_line(&w.place),
            rows: list.of(Some(w.window.id)).map(row).collect(),
        });
    }
    if window.is_none() {
        let rows: Vec<_> = list.of(None).map(row).collect();
        if !rows.is_empty() {
            groups.push(Group { heading: "No window chosen".into(), place: String::new(), rows });
        }
    }
    PickupList {
        layout: crate::paper::LAYOUT,
        made: now.at.0.div_euclid(1000),
        head: letterhead(farm),
        date: full(now.today),
        about: format!("{}, {}", list.plant.name, long(list.date.kill_on, now.today)),
        rule: if list.rule.hold_until_paid { "What is marked is held until it is paid.".into() } else { String::new() },
        groups,
    }
}
