//! Plans that were taken, whole or in part: what moved, whether it was taken back, and who was told.

use super::at::At;
use super::conn::DbConn;
use super::ids::{AcceptanceId, AnimalId, CustomerId, DateId, ReservationId};
use super::rows::animals::Animal;
use super::rows::plan::{NewPlanAcceptance, PlanAcceptance, PlanMove};
use super::rows::plants::{ProcessingDate, Processor};
use super::rows::selling::Reservation;
use super::schema::{animal, customer, offering, plan_acceptance, plan_move, processing_date, processor, reservation};
use super::store::Tx;
use crate::trade::share::Species;
use diesel::prelude::*;
use std::collections::HashMap;

/// A move with whose it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// What moved.
    pub moved: PlanMove,
    /// The order.
    pub reservation: Reservation,
    /// What it is of.
    pub species: Species,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
}

/// Records that a plan was taken.
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewPlanAcceptance, moves: &[PlanMove]) -> QueryResult<AcceptanceId> {
    let c = tx.conn();
    let id: AcceptanceId =
        diesel::insert_into(plan_acceptance::table).values(new.clone()).returning(plan_acceptance::id).get_result(c)?;
    for one in moves {
        let row = PlanMove { acceptance_id: id, ..one.clone() };
        diesel::insert_into(plan_move::table).values(row).execute(c)?;
    }
    Ok(id)
}

/// One acceptance, and the one that took it back, if any.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: AcceptanceId) -> QueryResult<(PlanAcceptance, Option<AcceptanceId>)> {
    let found = plan_acceptance::table.find(id).select(PlanAcceptance::as_select()).first(c)?;
    let undone = plan_acceptance::table
        .filter(plan_acceptance::undoes.eq(Some(id)))
        .select(plan_acceptance::id)
        .first(c)
        .optional()?;
    Ok((found, undone))
}

/// The last one.
///
/// # Errors
/// The database's own.
pub fn last(c: &mut DbConn) -> QueryResult<Option<PlanAcceptance>> {
    plan_acceptance::table.order(plan_acceptance::id.desc()).select(PlanAcceptance::as_select()).first(c).optional()
}

/// What moved by an acceptance, by order number.
///
/// # Errors
/// The database's own.
pub fn moves(c: &mut DbConn, id: AcceptanceId) -> QueryResult<Vec<Moved>> {
    let rows: Vec<(PlanMove, Reservation, Species, CustomerId, String)> = plan_move::table
        .inner_join(reservation::table.inner_join(customer::table).inner_join(offering::table))
        .filter(plan_move::acceptance_id.eq(id))
        .select((PlanMove::as_select(), Reservation::as_select(), offering::species, customer::id, customer::name))
        .load(c)?;
    let mut found: Vec<Moved> = rows
        .into_iter()
        .map(|(moved, reservation, species, customer, name)| Moved { moved, reservation, species, customer, name })
        .collect();
    found.sort_by_cached_key(|m| super::placements::number_order(&m.reservation.number));
    Ok(found)
}

/// The animals and dates that these moves name, those that are cancelled or past too.
#[derive(Debug, Clone, Default)]
pub struct Named {
    /// The animals.
    pub head: HashMap<AnimalId, Animal>,
    /// The dates and their plants.
    pub dates: HashMap<DateId, (ProcessingDate, Processor)>,
}

/// Looks up what moves name.
///
/// # Errors
/// The database's own.
pub fn named(c: &mut DbConn, moves: &[Moved]) -> QueryResult<Named> {
    let head = moves.iter().flat_map(|m| [m.moved.from_animal_id, m.moved.to_animal_id]).flatten();
    let head: Vec<AnimalId> = head.collect();
    let dates = moves.iter().flat_map(|m| [m.moved.from_date_id, m.moved.to_date_id]).flatten();
    let dates: Vec<DateId> = dates.collect();
    let head: Vec<Animal> = animal::table.filter(animal::id.eq_any(head)).select(Animal::as_select()).load(c)?;
    let dates: Vec<(ProcessingDate, Processor)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq_any(dates))
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .load(c)?;
    Ok(Named {
        head: head.into_iter().map(|a| (a.id, a)).collect(),
        dates: dates.into_iter().map(|d| (d.0.id, d)).collect(),
    })
}

/// Records that the customer of these orders was written to about an acceptance.
///
/// # Errors
/// The database's own.
pub fn told(tx: &mut Tx, id: AcceptanceId, orders: &[ReservationId], at: At) -> QueryResult<()> {
    let rows = plan_move::table
        .filter(plan_move::acceptance_id.eq(id))
        .filter(plan_move::reservation_id.eq_any(orders.to_vec()));
    diesel::update(rows).set(plan_move::told_at.eq(Some(at))).execute(tx.conn())?;
    Ok(())
}
