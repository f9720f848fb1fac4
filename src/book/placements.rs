//! Who owns what of which animal: the places of shares on the rail.

use super::at::At;
use super::conn::DbConn;
use super::ids::{AnimalId, CustomerId, InvoiceId, OfferingId, ReservationId};
use super::rows::animals::{LostShare, Placement};
use super::schema::{credit_note, customer, invoice, lost_share, place_lock, placement, reservation};
use super::store::Tx;
use crate::trade::carcass::Place;
use crate::trade::placing::{Taken, place_of};
use crate::trade::share::{Part, Side, Size};
use crate::trade::vocabulary::Slot;
use diesel::prelude::*;

/// One reservation's share on one animal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Share {
    /// The animal.
    pub animal: AnimalId,
    /// The reservation.
    pub reservation: ReservationId,
    /// The order's number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// What it was sold from.
    pub offering: OfferingId,
    /// Whole, half or quarter.
    pub size: Size,
    /// What kind of quarter.
    pub part: Option<Part>,
    /// The quarters it has, in the order of [`Slot::ALL`].
    pub slots: Vec<Slot>,
    /// Where it hangs.
    pub place: Place,
}

impl Share {
    /// The side it hangs on; a whole animal has both.
    pub const fn side(&self) -> Option<Side> {
        match self.place {
            Place::Whole => None,
            Place::Half(side) | Place::Quarter(side, _) => Some(side),
        }
    }
}

/// Year and running number of "2027-031", so that 2027-1000 comes after 2027-999.
pub fn number_order(number: &str) -> (i64, i64, String) {
    let (year, running) = number.split_once('-').unwrap_or(("", number));
    (year.parse().unwrap_or(i64::MAX), running.parse().unwrap_or(i64::MAX), number.to_string())
}

/// What a [`Row`] is read from.
macro_rules! columns {
    () => {
        (
            Placement::as_select(),
            reservation::id,
            reservation::number,
            customer::id,
            customer::name,
            reservation::offering_id,
            reservation::size,
            reservation::part,
        )
    };
}

/// The shares on these animals, by animal and then by reservation number.
///
/// # Errors
/// The database's own.
pub fn shares_on(c: &mut DbConn, animals: &[AnimalId]) -> QueryResult<Vec<Share>> {
    let query = placement::table.filter(placement::animal_id.eq_any(animals.to_vec()));
    let rows: Vec<Row> = query.inner_join(reservation::table.inner_join(customer::table)).select(columns!()).load(c)?;
    Ok(gather(rows))
}

/// Where these reservations' shares hang.
///
/// # Errors
/// The database's own.
pub fn shares_of(c: &mut DbConn, reservations: &[ReservationId]) -> QueryResult<Vec<Share>> {
    let query = placement::table.filter(placement::reservation_id.eq_any(reservations.to_vec()));
    let rows: Vec<Row> = query.inner_join(reservation::table.inner_join(customer::table)).select(columns!()).load(c)?;
    Ok(gather(rows))
}

type Row = (Placement, ReservationId, String, CustomerId, String, OfferingId, Size, Option<Part>);

fn gather(rows: Vec<Row>) -> Vec<Share> {
    let mut found: Vec<Share> = Vec::new();
    for (placed, reservation, number, customer, name, offering, size, part) in rows {
        let animal = placed.animal_id;
        match found.iter_mut().find(|s| s.animal == animal && s.reservation == reservation) {
            Some(share) => share.slots.push(placed.slot),
            None => found.push(Share {
                animal,
                reservation,
                number,
                customer,
                name,
                offering,
                size,
                part,
                slots: vec![placed.slot],
                place: Place::Whole,
            }),
        }
    }
    for share in &mut found {
        share.slots.sort();
        share.place = place_of(&share.slots, share.size, share.part).unwrap_or(Place::Whole);
    }
    found.sort_by_cached_key(|s| (s.animal, number_order(&s.number)));
    found
}

/// The quarters these shares take of one animal, for [`crate::trade::placing::choices`].
pub fn taken(shares: &[Share], animal: AnimalId) -> Vec<Taken> {
    let on = shares.iter().filter(|s| s.animal == animal);
    on.flat_map(|s| s.slots.iter().map(|slot| Taken { slot: *slot, size: s.size, part: s.part })).collect()
}

/// Hangs a share on an animal. The primary key refuses a quarter that is taken.
///
/// # Errors
/// The database's own.
pub fn put(tx: &mut Tx, animal_id: AnimalId, reservation_id: ReservationId, slots: &[Slot]) -> QueryResult<()> {
    for slot in slots {
        diesel::insert_into(placement::table)
            .values(Placement { animal_id, slot: *slot, reservation_id })
            .execute(tx.conn())?;
    }
    Ok(())
}

/// Takes a reservation's share off whatever animal it is on; gives how many quarters came free.
///
/// # Errors
/// The database's own.
pub fn take_off(tx: &mut Tx, reservation: ReservationId) -> QueryResult<usize> {
    // A lock holds a share in its place; without a place there is none.
    super::place_locks::take_off(tx, reservation)?;
    diesel::delete(placement::table.filter(placement::reservation_id.eq(reservation))).execute(tx.conn())
}

/// Takes every share off an animal that was lost or condemned, and remembers whose they were.
///
/// # Errors
/// The database's own.
pub fn lose(tx: &mut Tx, animal_id: AnimalId, shares: &[Share], at: At) -> QueryResult<()> {
    diesel::delete(place_lock::table.filter(place_lock::animal_id.eq(animal_id))).execute(tx.conn())?;
    diesel::delete(placement::table.filter(placement::animal_id.eq(animal_id))).execute(tx.conn())?;
    for share in shares {
        let lost = LostShare { animal_id, reservation_id: share.reservation, lost_at: at, told_at: None };
        let known = lost_share::table.find((animal_id, share.reservation));
        if diesel::update(known).set(lost.clone()).execute(tx.conn())? == 0 {
            diesel::insert_into(lost_share::table).values(lost).execute(tx.conn())?;
        }
    }
    Ok(())
}

/// Forgets that shares lost their places with an animal, because it was recorded as lost by mistake.
///
/// # Errors
/// The database's own.
pub fn found_again(tx: &mut Tx, animal: AnimalId) -> QueryResult<usize> {
    diesel::delete(lost_share::table.filter(lost_share::animal_id.eq(animal))).execute(tx.conn())
}

/// Somebody whose share lost its place with an animal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToTell {
    /// The animal that was lost.
    pub animal: AnimalId,
    /// The order.
    pub reservation: ReservationId,
    /// The order's number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// Whole, half or quarter.
    pub size: Size,
    /// When a message about it was queued, if it was.
    pub told_at: Option<At>,
    /// Whether the share has another place by now.
    pub placed: bool,
}

/// Whose shares lost their places with these animals and whose orders still stand, by order number.
///
/// # Errors
/// The database's own.
pub fn to_tell(c: &mut DbConn, animals: &[AnimalId]) -> QueryResult<Vec<ToTell>> {
    let rows: Vec<(LostShare, String, CustomerId, String, Size)> = lost_share::table
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(lost_share::animal_id.eq_any(animals.to_vec()))
        .filter(reservation::cancelled_at.is_null())
        .select((LostShare::as_select(), reservation::number, customer::id, customer::name, reservation::size))
        .load(c)?;
    let ids: Vec<_> = rows.iter().map(|(lost, ..)| lost.reservation_id).collect();
    let placed: Vec<ReservationId> = placement::table
        .filter(placement::reservation_id.eq_any(ids))
        .select(placement::reservation_id)
        .distinct()
        .load(c)?;
    let mut found: Vec<_> = rows
        .into_iter()
        .map(|(lost, number, customer, name, size)| ToTell {
            animal: lost.animal_id,
            reservation: lost.reservation_id,
            number,
            customer,
            name,
            size,
            told_at: lost.told_at,
            placed: placed.contains(&lost.reservation_id),
        })
        .collect();
    found.sort_by_cached_key(|t| number_order(&t.number));
    Ok(found)
}

/// Records that a message about the loss was queued.
///
/// # Errors
/// The database's own.
pub fn told(tx: &mut Tx, animal: AnimalId, reservation: ReservationId, at: At) -> QueryResult<bool> {
    let row = lost_share::table.find((animal, reservation));
    Ok(diesel::update(row).set(lost_share::told_at.eq(Some(at))).execute(tx.conn())? == 1)
}

/// An issued invoice that was not voided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invoiced {
    /// Its order.
    pub reservation: ReservationId,
    /// The invoice.
    pub invoice: InvoiceId,
    /// Its number.
    pub number: String,
}

/// The issued invoices of these reservations that no credit note voided.
///
/// # Errors
/// The database's own.
pub fn invoiced(c: &mut DbConn, reservations: &[ReservationId]) -> QueryResult<Vec<Invoiced>> {
    let rows: Vec<(ReservationId, InvoiceId, String)> = invoice::table
        .filter(invoice::reservation_id.eq_any(reservations.to_vec()))
        .left_join(credit_note::table.on(credit_note::invoice_id.eq(invoice::id)))
        .filter(credit_note::id.nullable().is_null())
        .order(invoice::id)
        .select((invoice::reservation_id, invoice::id, invoice::number))
        .load(c)?;
    Ok(rows.into_iter().map(|(reservation, invoice, number)| Invoiced { reservation, invoice, number }).collect())
}
