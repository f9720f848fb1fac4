//! Who owns what of which animal: the places of shares on the rail.

use super::conn::DbConn;
use super::ids::{AnimalId, CustomerId, InvoiceId, OfferingId, ReservationId};
use super::rows::animals::Placement;
use super::schema::{credit_note, customer, invoice, placement, reservation};
use super::store::Tx;
use crate::trade::carcass::Place;
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

/// The quarters a share takes at a place. A split quarter takes the first of its side that is not in `taken`; `None` when
/// any of them is taken.
pub fn slots_of(place: Place, taken: &[Slot]) -> Option<Vec<Slot>> {
    let pair = |side| match side {
        Side::Left => [Slot::L1, Slot::L2],
        Side::Right => [Slot::R1, Slot::R2],
    };
    let wanted = match place {
        Place::Whole => Slot::ALL.to_vec(),
        Place::Half(side) => pair(side).to_vec(),
        Place::Quarter(side, part) => {
            let [one, two] = pair(side);
            match part {
                Part::Split => vec![if taken.contains(&one) { two } else { one }],
                Part::Fore => vec![one],
                Part::Hind => vec![two],
            }
        }
    };
    wanted.iter().all(|slot| !taken.contains(slot)).then_some(wanted)
}

/// Where a share with these quarters hangs; `None` when it has none.
pub fn place_of(size: Size, part: Option<Part>, slots: &[Slot]) -> Option<Place> {
    let side = slots.first()?.side();
    Some(match size {
        Size::Whole => Place::Whole,
        Size::Half => Place::Half(side),
        Size::Quarter => Place::Quarter(side, part.unwrap_or(Part::Split)),
    })
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
        share.place = place_of(share.size, share.part, &share.slots).unwrap_or(Place::Whole);
    }
    found.sort_by_cached_key(|s| (s.animal, number_order(&s.number)));
    found
}

/// The quarters of an animal that are taken.
///
/// # Errors
/// The database's own.
pub fn taken(c: &mut DbConn, animal: AnimalId) -> QueryResult<Vec<Slot>> {
    placement::table.filter(placement::animal_id.eq(animal)).select(placement::slot).order(placement::slot).load(c)
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
    diesel::delete(placement::table.filter(placement::reservation_id.eq(reservation))).execute(tx.conn())
}

/// Takes every share off an animal.
///
/// # Errors
/// The database's own.
pub fn clear(tx: &mut Tx, animal: AnimalId) -> QueryResult<usize> {
    diesel::delete(placement::table.filter(placement::animal_id.eq(animal))).execute(tx.conn())
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
