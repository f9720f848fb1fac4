//! Head without a date, with what a proposal of dates needs to know of them.

use super::conn::DbConn;
use super::dates::{self, HeadOn};
use super::ids::AnimalId;
use super::offerings;
use super::rows::animals::{Animal, Treatment};
use super::rows::plants::{DateSlot, ProcessingDate, Processor};
use super::rows::selling::Offering;
use super::schema::{animal, live_weight, weigh_in};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// Head looked at, at most.
pub const MOST: i64 = 300;

/// Head without a date, and the dates there are.
#[derive(Debug, Clone)]
pub struct Undated {
    /// Neither lost nor weighed in, in the order they were entered; at most [`MOST`].
    pub head: Vec<Animal>,
    /// Their live weights.
    pub weights: HashMap<AnimalId, Vec<(NaiveDate, Weight)>>,
    /// Their treatments.
    pub given: Vec<Treatment>,
    /// The coming dates, soonest first.
    pub dates: Vec<(ProcessingDate, Processor)>,
    /// Head slots booked.
    pub slots: Vec<DateSlot>,
    /// Head on these dates.
    pub on: Vec<HeadOn>,
    /// The open offerings, newest first.
    pub offerings: Vec<Offering>,
}

/// All of it on `today`.
///
/// # Errors
/// The database's own.
pub fn undated(c: &mut DbConn, today: NaiveDate) -> QueryResult<Undated> {
    let head: Vec<Animal> = animal::table
        .left_join(weigh_in::table)
        .filter(animal::date_id.is_null())
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order(animal::id)
        .limit(MOST)
        .select(Animal::as_select())
        .load(c)?;
    let ids: Vec<_> = head.iter().map(|a| a.id).collect();
    let rows: Vec<(AnimalId, NaiveDate, Weight)> = live_weight::table
        .filter(live_weight::animal_id.eq_any(ids.clone()))
        .order((live_weight::weighed_on, live_weight::id))
        .select((live_weight::animal_id, live_weight::weighed_on, live_weight::weight))
        .load(c)?;
    let mut weights: HashMap<AnimalId, Vec<(NaiveDate, Weight)>> = HashMap::new();
    for (id, day, weight) in rows {
        weights.entry(id).or_default().push((day, weight));
    }
    let dates = dates::coming(c, today)?;
    let of: Vec<_> = dates.iter().map(|(d, _)| d.id).collect();
    Ok(Undated {
        given: super::animals::treatments(c, &ids)?,
        slots: dates::slots(c, &of)?,
        on: dates::head_on(c, &of)?,
        offerings: offerings::open(c)?,
        head,
        weights,
        dates,
    })
}
