//! Animals, their live weights and treatments.

use super::conn::DbConn;
use super::ids::{AnimalId, DateId, LiveWeightId, TreatmentId};
use super::rows::animals::{Animal, LiveWeight, NewAnimal, NewLiveWeight, NewTreatment, Treatment};
use super::schema::{animal, live_weight, processing_date, treatment, weigh_in};
use super::store::Tx;
use crate::trade::animal::Class;
use crate::trade::share::Species;
use crate::trade::withdrawal::{self, BadPeriod};
use chrono::{NaiveDate, NaiveDateTime};
use diesel::prelude::*;
use std::collections::HashMap;

impl Animal {
    /// Its class; `None` when the stored word is not one.
    pub fn class(&self) -> Option<Class> {
        self.class.parse().ok()
    }
    /// "Steer 229": as people call it.
    pub fn name(&self) -> String {
        name_of(&self.class, self.species, &self.tag)
    }
}

/// "Steer 229": the name of an animal from its columns.
pub fn name_of(class: &str, species: Species, tag: &str) -> String {
    let kind = class.parse::<Class>().map_or_else(
        |_| {
            let mut word = species.label().to_string();
            if let Some(first) = word.get_mut(0..1) {
                first.make_ascii_uppercase();
            }
            word
        },
        Class::title,
    );
    format!("{kind} {tag}")
}

impl Treatment {
    /// When its withdrawal period ends.
    ///
    /// # Errors
    /// [`BadPeriod`] when it leaves the calendar.
    pub fn ends(&self) -> Result<NaiveDateTime, BadPeriod> {
        let time = withdrawal::read_time(&self.last_dose_time).unwrap_or(None);
        let days = u64::try_from(self.withdrawal_days).map_err(|_| BadPeriod)?;
        withdrawal::ends(self.last_dose_on, time, days)
    }
    /// The first day on which the animal may be killed at any hour.
    ///
    /// # Errors
    /// [`BadPeriod`] at the end of the calendar.
    pub fn earliest_kill_day(&self) -> Result<NaiveDate, BadPeriod> {
        withdrawal::earliest_kill_day(self.ends()?)
    }
}

/// The first day on which an animal with these treatments may be killed; `None` when it had none.
///
/// # Errors
/// [`BadPeriod`] when a period cannot be reckoned: then it must not be killed at all until that is put right.
pub fn earliest_kill_day(treatments: &[Treatment]) -> Result<Option<NaiveDate>, BadPeriod> {
    let days: Result<Vec<_>, _> = treatments.iter().map(Treatment::earliest_kill_day).collect();
    Ok(days?.into_iter().max())
}

/// One animal.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn get(c: &mut DbConn, id: AnimalId) -> QueryResult<Animal> {
    animal::table.find(id).select(Animal::as_select()).first(c)
}

/// These animals, in the order they were entered.
///
/// # Errors
/// The database's own.
pub fn many(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<Vec<Animal>> {
    animal::table.filter(animal::id.eq_any(ids.to_vec())).order(animal::id).select(Animal::as_select()).load(c)
}

/// Adds an animal.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewAnimal) -> QueryResult<AnimalId> {
    diesel::insert_into(animal::table).values(new.clone()).returning(animal::id).get_result(tx.conn())
}

/// Saves an animal if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Animal, version: i64) -> QueryResult<bool> {
    let next = Animal { version: version.saturating_add(1), ..changed.clone() };
    let row = animal::table.filter(animal::id.eq(changed.id)).filter(animal::version.eq(version));
    Ok(diesel::update(row).set(next).execute(tx.conn())? == 1)
}

/// Live animals of one species with this tag, other than `but`.
///
/// # Errors
/// The database's own.
pub fn with_tag(c: &mut DbConn, species: Species, tag: &str, but: Option<AnimalId>) -> QueryResult<Option<Animal>> {
    animal::table
        .left_join(weigh_in::table)
        .filter(animal::tag.eq(tag.to_string()))
        .filter(animal::species.eq(species))
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .filter(animal::id.ne(but.unwrap_or(AnimalId(0))))
        .order(animal::id.desc())
        .select(Animal::as_select())
        .first(c)
        .optional()
}

crate::words! {
    /// How an animal stands, for the list.
    pub enum Standing {
        /// No processing date yet.
        NoDate = "no_date", "without a date";
        /// On a processing date, not weighed in.
        OnDate = "on_date", "on a date";
        /// Its hanging weight is recorded.
        Weighed = "weighed", "weighed in";
        /// Died or was taken out.
        Lost = "lost", "lost";
    }
}

/// Which animals a list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// Of one species.
    pub species: Option<Species>,
    /// Of one date.
    pub date: Option<DateId>,
    /// Of one standing.
    pub standing: Option<Standing>,
}

/// At most `limit` animals entered before `before`, newest first, with whether they are weighed in.
///
/// # Errors
/// The database's own.
pub fn page(
    c: &mut DbConn,
    shown: Shown,
    before: Option<AnimalId>,
    limit: i64,
) -> QueryResult<Vec<(Animal, Option<NaiveDate>, bool)>> {
    let mut query = animal::table
        .left_join(weigh_in::table)
        .left_join(processing_date::table)
        .order(animal::id.desc())
        .limit(limit)
        .select((
            Animal::as_select(),
            processing_date::kill_on.nullable(),
            weigh_in::animal_id.nullable().is_not_null(),
        ))
        .into_boxed();
    if let Some(before) = before {
        query = query.filter(animal::id.lt(before));
    }
    if let Some(species) = shown.species {
        query = query.filter(animal::species.eq(species));
    }
    if let Some(date) = shown.date {
        query = query.filter(animal::date_id.eq(date));
    }
    query = match shown.standing {
        None => query,
        Some(Standing::NoDate) => query
            .filter(animal::date_id.is_null())
            .filter(animal::lost_on.is_null())
            .filter(weigh_in::animal_id.is_null()),
        Some(Standing::OnDate) => query
            .filter(animal::date_id.is_not_null())
            .filter(animal::lost_on.is_null())
            .filter(weigh_in::animal_id.is_null()),
        Some(Standing::Weighed) => query.filter(weigh_in::animal_id.is_not_null()),
        Some(Standing::Lost) => query.filter(animal::lost_on.is_not_null()),
    };
    query.load(c)
}

/// Every head put on a date, lost ones too, in the order they were entered.
///
/// # Errors
/// The database's own.
pub fn on_date(c: &mut DbConn, date: DateId) -> QueryResult<Vec<Animal>> {
    animal::table.filter(animal::date_id.eq(date)).order(animal::id).select(Animal::as_select()).load(c)
}

/// Head of one species, neither lost nor weighed in, for choosing a place; at most 300.
///
/// # Errors
/// The database's own.
pub fn alive(c: &mut DbConn, species: Option<Species>) -> QueryResult<Vec<(Animal, Option<NaiveDate>)>> {
    let mut query = animal::table
        .left_join(weigh_in::table)
        .left_join(processing_date::table)
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order((processing_date::kill_on.asc(), animal::id.asc()))
        .limit(300)
        .select((Animal::as_select(), processing_date::kill_on.nullable()))
        .into_boxed();
    if let Some(species) = species {
        query = query.filter(animal::species.eq(species));
    }
    query.load(c)
}

/// An animal's live weights, latest first.
///
/// # Errors
/// The database's own.
pub fn live_weights(c: &mut DbConn, id: AnimalId) -> QueryResult<Vec<LiveWeight>> {
    live_weight::table
        .filter(live_weight::animal_id.eq(id))
        .order((live_weight::weighed_on.desc(), live_weight::id.desc()))
        .limit(200)
        .select(LiveWeight::as_select())
        .load(c)
}

/// The last live weight of each of these animals.
///
/// # Errors
/// The database's own.
pub fn last_live_weights(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<HashMap<AnimalId, LiveWeight>> {
    let rows: Vec<LiveWeight> = live_weight::table
        .filter(live_weight::animal_id.eq_any(ids.to_vec()))
        .order((live_weight::weighed_on.asc(), live_weight::id.asc()))
        .select(LiveWeight::as_select())
        .load(c)?;
    Ok(rows.into_iter().map(|w| (w.animal_id, w)).collect())
}

/// Adds a live weight.
///
/// # Errors
/// The database's own.
pub fn add_live_weight(tx: &mut Tx, new: &NewLiveWeight) -> QueryResult<()> {
    diesel::insert_into(live_weight::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Removes a live weight.
///
/// # Errors
/// The database's own.
pub fn remove_live_weight(tx: &mut Tx, id: LiveWeightId) -> QueryResult<()> {
    diesel::delete(live_weight::table.find(id)).execute(tx.conn())?;
    Ok(())
}

/// Removes a treatment.
///
/// # Errors
/// The database's own.
pub fn remove_treatment(tx: &mut Tx, id: TreatmentId) -> QueryResult<()> {
    diesel::delete(treatment::table.find(id)).execute(tx.conn())?;
    Ok(())
}

/// The treatments of these animals, latest dose first.
///
/// # Errors
/// The database's own.
pub fn treatments(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<Vec<Treatment>> {
    treatment::table
        .filter(treatment::animal_id.eq_any(ids.to_vec()))
        .order((treatment::last_dose_on.desc(), treatment::id.desc()))
        .select(Treatment::as_select())
        .load(c)
}

/// Adds a treatment.
///
/// # Errors
/// The database's own.
pub fn add_treatment(tx: &mut Tx, new: &NewTreatment) -> QueryResult<()> {
    diesel::insert_into(treatment::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// A head that would be killed inside a withdrawal period: for Today, and flagged late on its pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InWithdrawal {
    /// The animal.
    pub animal: AnimalId,
    /// "Steer 229".
    pub name: String,
    /// The date it is on.
    pub date: DateId,
    /// The day of slaughter booked.
    pub kill_on: NaiveDate,
    /// The first day on which it may be killed; `None` when its period cannot be reckoned.
    pub earliest: Option<NaiveDate>,
}

/// Head on processing dates, not weighed in and not lost, whose withdrawal period ends after the day of slaughter.
///
/// # Errors
/// The database's own.
pub fn in_withdrawal(c: &mut DbConn) -> QueryResult<Vec<InWithdrawal>> {
    let rows: Vec<(Animal, DateId, NaiveDate)> = animal::table
        .inner_join(processing_date::table)
        .left_join(weigh_in::table)
        .filter(processing_date::cancelled_at.is_null())
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order((processing_date::kill_on.asc(), animal::id.asc()))
        .select((Animal::as_select(), processing_date::id, processing_date::kill_on))
        .load(c)?;
    let ids: Vec<_> = rows.iter().map(|(a, ..)| a.id).collect();
    let given = treatments(c, &ids)?;
    Ok(rows
        .into_iter()
        .filter_map(|(head, date, kill_on)| {
            let own: Vec<_> = given.iter().filter(|t| t.animal_id == head.id).cloned().collect();
            let earliest = match earliest_kill_day(&own) {
                Ok(None) => return None,
                Ok(Some(day)) if day <= kill_on => return None,
                Ok(day) => day,
                Err(BadPeriod) => None,
            };
            Some(InWithdrawal { animal: head.id, name: head.name(), date, kill_on, earliest })
        })
        .collect())
}
