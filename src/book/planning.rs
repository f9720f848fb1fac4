//! What a plan of shares rests on: head with a coming date, who is on them, and the orders that want a place.

use super::conn::DbConn;
use super::dates;
use super::ids::{AnimalId, ReservationId};
use super::money_sums;
use super::placements::{self, Share};
use super::rows::animals::{Animal, Treatment};
use super::rows::plants::{DateSlot, ProcessingDate, Processor};
use super::rows::selling::{Offering, Reservation};
use super::rows::sheets::CutSheet;
use super::schema::{animal, customer, offering, placement, reservation, weigh_in};
use super::wishes::{self, Wishes};
use super::{animals, place_locks, sheets};
use crate::trade::money::Money;
use crate::trade::share::Species;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::dsl::{exists, not, sql};
use diesel::prelude::*;
use diesel::sql_types::Bool;
use std::collections::{HashMap, HashSet};

/// Head or orders looked at, at most; one more tells that there are more.
pub const MOST: usize = 1000;

/// An order that wants a place, or may be moved to another one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// The order.
    pub reservation: Reservation,
    /// What it is of.
    pub species: Species,
    /// The customer's name.
    pub name: String,
    /// What is held of its deposit.
    pub held: Money,
    /// What it asks for.
    pub asked: Wishes,
    /// Whether its share is locked where it is.
    pub locked: bool,
    /// Where its share hangs.
    pub share: Option<Share>,
    /// Its cut sheet.
    pub sheet: Option<CutSheet>,
}

impl Wanted {
    /// Whether all of the deposit is there; true when none is asked.
    pub fn deposit_paid(&self) -> bool {
        self.held >= self.reservation.deposit_asked
    }
}

/// All that a plan rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Situation {
    /// The coming dates, soonest first.
    pub dates: Vec<(ProcessingDate, Processor)>,
    /// Head slots booked.
    pub slots: Vec<DateSlot>,
    /// Head on these dates, neither lost nor weighed in, by date and then as they were entered.
    pub head: Vec<Animal>,
    /// The last live weights.
    pub live: HashMap<AnimalId, Weight>,
    /// Their treatments.
    pub given: Vec<Treatment>,
    /// Every share that hangs on them.
    pub shares: Vec<Share>,
    /// The open orders without a place or with one on these head, by number.
    pub orders: Vec<Wanted>,
    /// Open orders that hang on head without a coming date; they are not planned.
    pub elsewhere: usize,
    /// What is for sale, newest first: its expected weights stand in for what is not weighed.
    pub offerings: Vec<Offering>,
}

impl Situation {
    /// The date and plant of a head.
    pub fn date_of(&self, animal: &Animal) -> Option<&(ProcessingDate, Processor)> {
        self.dates.iter().find(|(d, _)| Some(d.id) == animal.date_id)
    }
}

/// Everything a plan of one species, or of all, rests on.
///
/// # Errors
/// The database's own.
pub fn situation(c: &mut DbConn, today: NaiveDate, species: Option<Species>) -> QueryResult<Situation> {
    let dates = dates::coming(c, today)?;
    let ids: Vec<_> = dates.iter().map(|(d, _)| d.id).collect();
    let slots = dates::slots(c, &ids)?;
    let mut query = animal::table
        .left_join(weigh_in::table)
        .filter(animal::date_id.eq_any(ids.clone()))
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .order(animal::id)
        .limit(i64::try_from(MOST).unwrap_or(i64::MAX) + 1)
        .select(Animal::as_select())
        .into_boxed();
    if let Some(species) = species {
        query = query.filter(animal::species.eq(species));
    }
    let mut head: Vec<Animal> = query.load(c)?;
    head.sort_by_key(|a| (ids.iter().position(|d| Some(*d) == a.date_id), a.id));
    let on: Vec<_> = head.iter().map(|a| a.id).collect();
    let live = animals::last_live_weights(c, &on)?.into_iter().map(|(id, w)| (id, w.weight)).collect();
    let shares = placements::shares_on(c, &on)?;
    let (orders, elsewhere) = wanted(c, species, &shares)?;
    Ok(Situation {
        slots,
        live,
        given: animals::treatments(c, &on)?,
        offerings: super::offerings::open(c)?,
        dates,
        head,
        shares,
        orders,
        elsewhere,
    })
}

/// Orders that are sold, not picked up and not invoiced, as SQL.
const NOT_INVOICED: &str = "NOT EXISTS (SELECT 1 FROM invoice i WHERE i.reservation_id = reservation.id \
    AND NOT EXISTS (SELECT 1 FROM credit_note n WHERE n.invoice_id = i.id))";

fn wanted(c: &mut DbConn, species: Option<Species>, shares: &[Share]) -> QueryResult<(Vec<Wanted>, usize)> {
    let here: HashMap<ReservationId, &Share> = shares.iter().map(|s| (s.reservation, s)).collect();
    let on: Vec<_> = here.keys().copied().collect();
    let placed = || exists(placement::table.filter(placement::reservation_id.eq(reservation::id)));
    let mut query = reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::collected_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .filter(sql::<Bool>(NOT_INVOICED))
        .filter(not(placed()).or(reservation::id.eq_any(on)))
        .order(reservation::id)
        .limit(i64::try_from(MOST).unwrap_or(i64::MAX) + 1)
        .select((Reservation::as_select(), offering::species, customer::name))
        .into_boxed();
    if let Some(species) = species {
        query = query.filter(offering::species.eq(species));
    }
    let rows: Vec<(Reservation, Species, String)> = query.load(c)?;
    let ids: Vec<_> = rows.iter().map(|(r, ..)| r.id).collect();
    let mut asked = wishes::of(c, &ids)?;
    let locked: HashSet<_> = place_locks::of(c, &ids)?;
    let held = money_sums::held_for_orders(c, &ids)?;
    let mut sheets = sheets::of(c, &ids)?;
    let mut orders: Vec<Wanted> = rows
        .into_iter()
        .map(|(reservation, species, name)| Wanted {
            species,
            name,
            held: held.get(&reservation.id).copied().unwrap_or_default(),
            asked: asked.remove(&reservation.id).unwrap_or_default(),
            locked: locked.contains(&reservation.id),
            share: here.get(&reservation.id).map(|s| (*s).clone()),
            sheet: sheets.remove(&reservation.id),
            reservation,
        })
        .collect();
    orders.sort_by_cached_key(|w| placements::number_order(&w.reservation.number));
    Ok((orders, elsewhere(c, species)?))
}

/// Open orders whose share hangs on a head without a date.
fn elsewhere(c: &mut DbConn, species: Option<Species>) -> QueryResult<usize> {
    let mut query = placement::table
        .inner_join(animal::table)
        .inner_join(reservation::table)
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::collected_at.is_null())
        .filter(animal::date_id.is_null())
        .filter(animal::lost_on.is_null())
        .select(placement::reservation_id)
        .distinct()
        .into_boxed();
    if let Some(species) = species {
        query = query.filter(animal::species.eq(species));
    }
    Ok(query.load::<ReservationId>(c)?.len())
}

/// Open orders without a place for whose species a head has a coming date: for Today.
///
/// # Errors
/// The database's own.
pub fn waiting_for_a_place(c: &mut DbConn, today: NaiveDate) -> QueryResult<i64> {
    let ids: Vec<_> = dates::coming(c, today)?.into_iter().map(|(d, _)| d.id).collect();
    let species: Vec<Species> = animal::table
        .left_join(weigh_in::table)
        .filter(animal::date_id.eq_any(ids))
        .filter(animal::lost_on.is_null())
        .filter(weigh_in::animal_id.is_null())
        .select(animal::species)
        .distinct()
        .load(c)?;
    reservation::table
        .inner_join(offering::table)
        .filter(offering::species.eq_any(species))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::collected_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .filter(sql::<Bool>(NOT_INVOICED))
        .filter(not(exists(placement::table.filter(placement::reservation_id.eq(reservation::id)))))
        .count()
        .get_result(c)
}
