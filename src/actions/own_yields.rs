//! Own yields: every share that came home beside its forecast, and what a forecast learns of them. See [`crate::trade::yields`].

use super::Failure;
use super::cut_sheet::{Basis, bases, forecast};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, ProcessorId, ReservationId};
use crate::book::rows::farm::Farm;
use crate::book::{packaged, sheets};
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::{Band, TakeHome};
use crate::trade::share::{Part, Size, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::PackagedBy;
use crate::trade::weight::Weight;
use crate::trade::yields::style::{Style, standard_bone, style};
use crate::trade::yields::{Asked, Factor, Learned, MOST, Observed, learn};
use chrono::NaiveDate;
use std::collections::HashMap;

/// One share that came home.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Came {
    /// The order.
    pub order: ReservationId,
    /// Its number.
    pub number: String,
    /// The animal.
    pub animal: AnimalId,
    /// "Steer 114".
    pub animal_name: String,
    /// The day of slaughter.
    pub kill_on: NaiveDate,
    /// The plant's name.
    pub plant_name: String,
    /// Its hanging weight.
    pub hung: Weight,
    /// Who told what came home.
    pub source: PackagedBy,
    /// What is learned from.
    pub seen: Observed<ProcessorId>,
}

/// Bone that standard cuts leave out, each kind of share reckoned once.
#[derive(Debug, Default)]
struct Standards(HashMap<(Species, Size, Part), Option<i64>>);

impl Standards {
    fn style(&mut self, hanging: &Hanging, home: &TakeHome<'_>) -> Option<Style> {
        let key = (hanging.species, hanging.size, hanging.part);
        let bone = *self.0.entry(key).or_insert_with(|| standard_bone(hanging));
        Some(style(home, hanging, bone?))
    }
}

/// What a forecast says that comes home, with the parts outside the hanging weight: boxes hold them too.
pub fn all_packaged(home: &TakeHome<'_>) -> Band {
    let parts = home.parts.iter().fold(0_i64, |sum, (_, w)| sum.saturating_add(w.hundredths()));
    let plus = |w: Weight| Weight::from_hundredths(w.hundredths().saturating_add(parts));
    let Band { low, expected, high } = home.packaged;
    Band { low: plus(low), expected: plus(expected), high: plus(high) }
}

/// The newest shares that came home, at most [`MOST`], in a fixed number of queries; the newest order first. Shares without a
/// hanging weight or a date, and those whose sheet cannot be forecast any more, are left out.
///
/// # Errors
/// The database's own.
pub fn came_home(c: &mut DbConn, farm: &Farm, today: NaiveDate) -> Result<Vec<Came>, Failure> {
    let orders = packaged::newest(c, MOST)?;
    if orders.is_empty() {
        return Ok(Vec::new());
    }
    let mut told = packaged::of(c, &orders)?;
    let mut bases = bases(c, farm, today, &orders)?;
    let stored = sheets::of(c, &orders)?;
    let mut dates: Vec<DateId> = bases.values().filter_map(|b| Some(b.facts.date?.0)).collect();
    dates.sort_unstable();
    dates.dedup();
    let plants = packaged::plants_of(c, &dates)?;
    let mut standards = Standards::default();
    let mut all = Vec::new();
    for order in orders {
        let (Some(basis), Some((source, actual))) =
            (bases.remove(&order), told.remove(&order).and_then(|t| t.counts()))
        else {
            continue;
        };
        let kept = match stored.get(&order) {
            Some(sheet) => sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?,
            None => Kept::default(),
        };
        let date = basis.facts.date.and_then(|(date, _)| plants.get(&date));
        all.extend(one(&basis, &kept, (source, actual), date, &mut standards));
    }
    Ok(all)
}

fn one(
    basis: &Basis,
    kept: &Kept,
    (source, actual): (PackagedBy, Weight),
    date: Option<&(NaiveDate, ProcessorId, String)>,
    standards: &mut Standards,
) -> Option<Came> {
    let (r, ..) = &basis.order;
    if !basis.is_weighed || r.cancelled_at.is_some() {
        return None;
    }
    let (kill_on, plant, plant_name) = date?;
    let animal = basis.facts.animal.as_ref()?;
    let home = forecast(basis, kept).ok()?;
    let seen = Observed {
        species: basis.hanging.species,
        plant: *plant,
        style: standards.style(&basis.hanging, &home)?,
        forecast: all_packaged(&home),
        actual,
    };
    Some(Came {
        order: r.id,
        number: r.number.clone(),
        animal: animal.id,
        animal_name: animal.name(),
        kill_on: *kill_on,
        plant_name: plant_name.clone(),
        hung: basis.hanging.weight,
        source,
        seen,
    })
}

/// What own yields say to one forecast.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Own {
    /// What was learned.
    pub learned: Learned,
    /// What is likely to come home by it.
    pub expected: Weight,
}

impl Own {
    /// "By your own 14 shares (×0.970)": what stands before the weight. `whose` is "your" or "the farm’s".
    pub fn rests_on(&self, whose: &str) -> String {
        let shares = match self.learned.shares {
            1 => "1 share".to_string(),
            n => format!("{n} shares"),
        };
        format!("By {whose} own {shares} ({})", self.learned.factor.shown())
    }
}

/// What own yields say to forecasts, read once.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OwnYields(Vec<Observed<ProcessorId>>);

impl OwnYields {
    /// Reads what came home.
    ///
    /// # Errors
    /// As [`came_home`].
    pub fn read(c: &mut DbConn, farm: &Farm, today: NaiveDate) -> Result<Self, Failure> {
        Ok(Self(came_home(c, farm, today)?.into_iter().map(|came| came.seen).collect()))
    }

    /// What they say to a forecast for a plant; `None` while there is nothing to learn from, then the published figures stand alone.
    pub fn say(&self, hanging: &Hanging, home: &TakeHome<'_>, plant: Option<ProcessorId>) -> Option<Own> {
        let asked = Asked { species: hanging.species, plant, style: Standards::default().style(hanging, home) };
        let learned = learn(&self.0, &asked);
        let expected = learned.factor.of(all_packaged(home).expected);
        (learned.shares > 0).then_some(Own { learned, expected })
    }
}

/// Some of the shares added up: a line of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group<K> {
    /// What they have in common.
    pub of: K,
    /// How many there are.
    pub shares: usize,
    /// How many of them are learned from.
    pub counted: usize,
    /// What was forecast, in hundredths of the unit.
    pub forecast: i64,
    /// What came home, in hundredths of the unit.
    pub actual: i64,
}

impl<K> Group<K> {
    /// What came home over what was forecast, all weights added up.
    pub fn ratio(&self) -> Option<Factor> {
        Factor::ratio(Weight::from_hundredths(self.actual), Weight::from_hundredths(self.forecast))
    }
}

/// Adds shares up by what `of` says of each, in the order in which each is first met.
pub fn grouped<K: Clone + PartialEq>(all: &[Came], of: impl Fn(&Came) -> K) -> Vec<Group<K>> {
    let mut groups: Vec<Group<K>> = Vec::new();
    for came in all {
        let key = of(came);
        let at = groups.iter().position(|g| g.of == key).unwrap_or_else(|| {
            groups.push(Group { of: key.clone(), shares: 0, counted: 0, forecast: 0, actual: 0 });
            groups.len().saturating_sub(1)
        });
        if let Some(group) = groups.get_mut(at) {
            group.shares += 1;
            group.counted += usize::from(came.seen.counts());
            group.forecast = group.forecast.saturating_add(came.seen.forecast.expected.hundredths());
            group.actual = group.actual.saturating_add(came.seen.actual.hundredths());
        }
    }
    groups
}
