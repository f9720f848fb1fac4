//! What is left to sell, read for one page in a handful of queries.

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, OfferingId};
use super::offerings::{self, Taken};
use super::placements::{self, Share};
use super::rows::animals::Animal;
use super::rows::people::Customer;
use super::rows::plants::{ProcessingDate, Processor};
use super::rows::selling::Offering;
use super::schema::{animal, customer, message, offering, processing_date, processor, reservation, weigh_in};
use super::waiting_offers::{self, InLine, OpenOffer};
use crate::trade::share::Species;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// Head looked at, at most.
const HEAD: i64 = 1_000;

/// Everything the page of what is left needs.
#[derive(Debug, Clone)]
pub struct Left {
    /// Head on coming dates, not weighed in and not lost, by day.
    pub head: Vec<(Animal, ProcessingDate, Processor)>,
    /// Who has what of them.
    pub shares: Vec<Share>,
    /// The open offerings.
    pub offerings: Vec<Offering>,
    /// What is taken of each, held shares included.
    pub taken: HashMap<OfferingId, Taken>,
    /// Their waiting lists, in order.
    pub line: Vec<InLine>,
    /// Offers that are not answered yet.
    pub open: Vec<OpenOffer>,
}

/// What is left on `today`.
///
/// # Errors
/// The database's own.
pub fn left(c: &mut DbConn, today: NaiveDate) -> QueryResult<Left> {
    let head: Vec<(Animal, ProcessingDate, Processor)> = animal::table
        .inner_join(processing_date::table.inner_join(processor::table))
        .left_join(weigh_in::table)
        .filter(processing_date::kill_on.ge(today))
        .filter(processing_date::cancelled_at.is_null())
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order((processing_date::kill_on, animal::id))
        .limit(HEAD)
        .select((Animal::as_select(), ProcessingDate::as_select(), Processor::as_select()))
        .load(c)?;
    let ids: Vec<_> = head.iter().map(|(a, ..)| a.id).collect();
    let offerings = offerings::open(c)?;
    let of: Vec<_> = offerings.iter().map(|o| o.id).collect();
    Ok(Left {
        shares: placements::shares_on(c, &ids)?,
        taken: offerings::taken(c, &of)?,
        line: waiting_offers::line(c, &of)?,
        open: waiting_offers::open(c)?,
        head,
        offerings,
    })
}

/// Until when the quarters of a date are to be sold: its cut-sheet deadline while that is ahead, else the day of slaughter.
pub fn sell_by(date: &ProcessingDate, today: NaiveDate) -> NaiveDate {
    date.sheets_due.filter(|day| *day >= today).unwrap_or(date.kill_on)
}

/// Customers who bought this species before and have no order of it in an open offering, by name; those who had such a message
/// since `since` are left out, so that each gets it once, and so are those who asked not to hear of it.
///
/// # Errors
/// The database's own.
pub fn past_customers(
    c: &mut DbConn,
    species: Species,
    purpose: &str,
    since: At,
    limit: i64,
) -> QueryResult<Vec<Customer>> {
    let of_species = |open: bool| {
        let mut query = reservation::table
            .inner_join(offering::table)
            .filter(offering::species.eq(species))
            .filter(reservation::cancelled_at.is_null())
            .select(reservation::customer_id)
            .into_boxed();
        if open {
            query = query.filter(offering::closed_at.is_null()).filter(reservation::collected_at.is_null());
        }
        query
    };
    let buyers: Vec<CustomerId> = of_species(false).distinct().load(c)?;
    let has_one: Vec<CustomerId> = of_species(true).distinct().load(c)?;
    let told: Vec<Option<CustomerId>> = message::table
        .filter(message::purpose.eq(purpose.to_string()))
        .filter(message::queued_at.ge(since))
        .select(message::customer_id)
        .load(c)?;
    let wanted: Vec<_> = buyers.into_iter().filter(|id| !has_one.contains(id) && !told.contains(&Some(*id))).collect();
    customer::table
        .filter(customer::id.eq_any(wanted))
        .filter(customer::no_offers.eq(false))
        .order((customer::name, customer::id))
        .limit(limit)
        .select(Customer::as_select())
        .load(c)
}
