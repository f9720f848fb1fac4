//! What the public page and the estimator need of what is for sale, read in a fixed number of queries.

use super::conn::DbConn;
use super::ids::{OfferingId, ProcessorId};
use super::offerings::{self, Taken};
use super::rows::plants::{DateSlot, ProcessingDate, Processor, ProcessorCharge, ProcessorOffer};
use super::rows::selling::{Offering, Price};
use super::schema::{offering, processor_charge, public_offering};
use super::{dates, plant_offers, plants};
use crate::trade::share::{Size, Species};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::cmp::Reverse;
use std::collections::HashMap;

/// Open offerings of the public page, and what their prices rest on.
#[derive(Debug, Clone)]
pub struct Shop {
    /// The offerings, beef first and goats last, of one species the newest first.
    pub offerings: Vec<Offering>,
    /// Their prices, newest first.
    pub prices: Vec<Price>,
    /// What is taken of each, held shares included.
    pub taken: HashMap<OfferingId, Taken>,
    /// Coming dates, soonest first.
    pub dates: Vec<(ProcessingDate, Processor)>,
    /// The head booked for them.
    pub slots: Vec<DateSlot>,
    /// Plants that are not retired.
    pub plants: Vec<Processor>,
    /// Their charges in order, without the retired ones.
    pub charges: Vec<ProcessorCharge>,
    /// What they leave out of the cuts of a species.
    pub offers: HashMap<(ProcessorId, Species), ProcessorOffer>,
}

/// What stands on the public page on `today`; with `only`, that one offering alone.
///
/// # Errors
/// The database's own.
pub fn shop(c: &mut DbConn, today: NaiveDate, only: Option<OfferingId>) -> QueryResult<Shop> {
    let mut query = offering::table
        .inner_join(public_offering::table)
        .filter(offering::closed_at.is_null())
        .order(offering::id.desc())
        .limit(100)
        .select(Offering::as_select())
        .into_boxed();
    if let Some(id) = only {
        query = query.filter(offering::id.eq(id));
    }
    let mut offerings: Vec<Offering> = query.load(c)?;
    offerings.sort_by_key(|o| (o.species, Reverse(o.id)));
    let ids: Vec<OfferingId> = offerings.iter().map(|o| o.id).collect();
    let dates = dates::coming(c, today)?;
    let of_dates: Vec<_> = dates.iter().map(|(d, _)| d.id).collect();
    let plants = plants::list(c, false)?;
    let of_plants: Vec<_> = plants.iter().map(|p| p.id).collect();
    Ok(Shop {
        prices: offerings::prices(c, &ids)?,
        taken: offerings::taken(c, &ids)?,
        slots: dates::slots(c, &of_dates)?,
        charges: processor_charge::table
            .filter(processor_charge::processor_id.eq_any(of_plants.clone()))
            .filter(processor_charge::retired_at.is_null())
            .order((processor_charge::processor_id, processor_charge::position, processor_charge::id))
            .select(ProcessorCharge::as_select())
            .load(c)?,
        offers: plant_offers::of(c, &of_plants)?,
        offerings,
        dates,
        plants,
    })
}

impl Shop {
    /// The price of a share in force on `today`.
    pub fn price(&self, id: OfferingId, size: Size, today: NaiveDate) -> Option<&Price> {
        // The list comes newest first, so the first that has begun is the one in force.
        self.prices.iter().find(|p| p.offering_id == id && p.size == size && p.effective_from <= today)
    }

    /// The coming dates with head booked for a species, soonest first.
    pub fn dates_of(&self, species: Species) -> impl Iterator<Item = &(ProcessingDate, Processor)> {
        let has = move |id| self.slots.iter().any(|s| s.date_id == id && s.species == species);
        self.dates.iter().filter(move |(d, _)| has(d.id))
    }

    /// The plants a species goes to: those of the coming dates, soonest first; without any, those whose schedule names it.
    pub fn plants_of(&self, species: Species) -> Vec<&Processor> {
        let mut found: Vec<&Processor> = Vec::new();
        for (_, plant) in self.dates_of(species) {
            if !found.iter().any(|p| p.id == plant.id) {
                found.push(plant);
            }
        }
        if found.is_empty() {
            let names =
                |p: &&Processor| self.charges.iter().any(|c| c.processor_id == p.id && c.species == Some(species));
            found = self.plants.iter().filter(names).collect();
        }
        found
    }

    /// The charges of a plant for a share.
    pub fn charges_of(&self, plant: ProcessorId, species: Species, size: Size) -> Vec<&ProcessorCharge> {
        self.charges.iter().filter(|c| c.processor_id == plant && c.applies(species, size)).collect()
    }
}
