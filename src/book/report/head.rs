//! Head that hung: weights alive, hot and cold, and which shares hang on which head.

use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, ProcessorId, ReservationId};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::rows::plant_page::PlantEntry;
use crate::book::schema::{animal, live_weight, placement, plant_entry, processing_date, processor, weigh_in};
use crate::trade::plant_entry::{Entered, Fate};
use crate::trade::vocabulary::{CarcassBasis, EntryAnswer, EntryKind};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// The date a head was slaughtered on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Killed {
    /// The date.
    pub date: DateId,
    /// The day.
    pub on: NaiveDate,
    /// The processor.
    pub plant: ProcessorId,
    /// Its name.
    pub name: String,
}

/// A head with a hanging weight, or condemned as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hung {
    /// The animal.
    pub animal: Animal,
    /// What was weighed.
    pub weighed: WeighIn,
    /// Its processing date; none when it was weighed without one.
    pub killed: Option<Killed>,
    /// The last live weight before the day of slaughter or on it.
    pub live: Option<Weight>,
}

impl Hung {
    /// The day of slaughter: of the date, else of the weighing.
    pub fn day(&self) -> NaiveDate {
        self.killed.as_ref().map_or(self.weighed.weighed_on, |k| k.on)
    }
    /// Its hanging weight; none for a condemned carcass.
    pub fn weight(&self) -> Option<Weight> {
        self.weighed.hung().and_then(|h| h.total().ok())
    }
}

/// Every head that was weighed in and not lost, by day of slaughter.
///
/// # Errors
/// The database's own.
pub fn hung(c: &mut DbConn) -> QueryResult<Vec<Hung>> {
    type Row = (Animal, WeighIn, Option<(DateId, NaiveDate, ProcessorId)>);
    let rows: Vec<Row> = animal::table
        .inner_join(weigh_in::table)
        .left_join(processing_date::table)
        .filter(animal::lost_on.is_null())
        .order(animal::id)
        .select((
            Animal::as_select(),
            WeighIn::as_select(),
            (processing_date::id, processing_date::kill_on, processing_date::processor_id).nullable(),
        ))
        .load(c)?;
    let names: HashMap<ProcessorId, String> = processor::table
        .select((processor::id, processor::name))
        .load::<(ProcessorId, String)>(c)?
        .into_iter()
        .collect();
    let live: Vec<(AnimalId, NaiveDate, Weight)> = live_weight::table
        .inner_join(weigh_in::table.on(weigh_in::animal_id.eq(live_weight::animal_id)))
        .order((live_weight::animal_id, live_weight::weighed_on, live_weight::id))
        .select((live_weight::animal_id, live_weight::weighed_on, live_weight::weight))
        .load(c)?;
    let mut alive: HashMap<AnimalId, Vec<(NaiveDate, Weight)>> = HashMap::new();
    for (animal, day, weight) in live {
        alive.entry(animal).or_default().push((day, weight));
    }
    let mut all: Vec<Hung> = rows
        .into_iter()
        .map(|(animal, weighed, date)| {
            let killed = date.map(|(date, on, plant)| Killed {
                date,
                on,
                plant,
                name: names.get(&plant).cloned().unwrap_or_default(),
            });
            let day = killed.as_ref().map_or(weighed.weighed_on, |k| k.on);
            let before = alive.get(&animal.id).and_then(|all| all.iter().rev().find(|(on, _)| *on <= day));
            Hung { live: before.map(|(_, w)| *w), animal, weighed, killed }
        })
        .collect();
    all.sort_by_key(|h| (h.day(), h.animal.id));
    Ok(all)
}

/// Which head each share hangs on.
///
/// # Errors
/// The database's own.
pub fn placed(c: &mut DbConn) -> QueryResult<BTreeMap<ReservationId, AnimalId>> {
    let rows: Vec<(ReservationId, AnimalId)> =
        placement::table.select((placement::reservation_id, placement::animal_id)).distinct().load(c)?;
    Ok(rows.into_iter().collect())
}

/// The hot and the cold weight of each of these head: from its weigh-in, and from what processors entered and the farm took,
/// the newest of each.
///
/// # Errors
/// The database's own. An entry that cannot be read is passed over; `gambrel check` names it.
pub fn hot_and_cold(
    c: &mut DbConn,
    head: &[&Hung],
) -> QueryResult<HashMap<AnimalId, (Option<Weight>, Option<Weight>)>> {
    let entries: Vec<PlantEntry> = plant_entry::table
        .filter(plant_entry::kind.eq(EntryKind::Carcass))
        .filter(plant_entry::answer.eq(EntryAnswer::Taken))
        .order(plant_entry::id)
        .select(PlantEntry::as_select())
        .load(c)?;
    let mut all: HashMap<AnimalId, (Option<Weight>, Option<Weight>)> = HashMap::new();
    let mut put = |animal: AnimalId, basis: CarcassBasis, weight: Weight| {
        let both = all.entry(animal).or_default();
        match basis {
            CarcassBasis::Hot => both.0 = Some(weight),
            CarcassBasis::Cold => both.1 = Some(weight),
        }
    };
    for entry in entries {
        let (Some(animal), Ok(Entered::Carcass(carcass))) = (entry.animal_id, entry.entered()) else { continue };
        let Fate::Hung { hung, .. } = carcass.fate else { continue };
        if let Ok(weight) = hung.total() {
            put(animal, carcass.basis, weight);
        }
    }
    // What stands in the book counts before what was entered once.
    for one in head {
        if let Some(weight) = one.weight() {
            put(one.animal.id, one.weighed.basis, weight);
        }
    }
    Ok(all)
}
