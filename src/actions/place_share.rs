//! Giving shares a place on an animal, moving them, and taking them off.

use super::{Doing, Failure, Problems};
use crate::book::carcasses::{self, billed_weights};
use crate::book::ids::{AnimalId, ReservationId};
use crate::book::placements::{self, Share};
use crate::book::rows::animals::Animal;
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, farm, place_locks, reservations, unplaced, waiting_offers};
use crate::trade::carcass::Place;
use crate::trade::placing::choices;
use crate::trade::plan::Sides;
use crate::trade::room::Sold;
use crate::trade::share::{Part, Side, Size};
use crate::trade::vocabulary::{Condemned, OfferEnd};
use crate::trade::weight::Weight;
use std::collections::HashMap;

/// Where on an animal: a side, or all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Spot {
    /// A whole animal.
    Whole,
    /// A half, or a quarter, on that side.
    Side(Side),
}

impl Spot {
    /// The word forms send.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Side(Side::Left) => "left",
            Self::Side(Side::Right) => "right",
        }
    }
    /// The spot of a place.
    pub const fn of(place: Place) -> Self {
        match place {
            Place::Whole => Self::Whole,
            Place::Half(side) | Place::Quarter(side, _) => Self::Side(side),
        }
    }
    /// The same in the planner's words.
    pub const fn sides(self) -> Sides {
        match self {
            Self::Whole => Sides::Both,
            Self::Side(side) => Sides::of(side),
        }
    }
    const fn place(self, size: Size, part: Option<Part>) -> Option<Place> {
        match (self, size, part) {
            (Self::Whole, Size::Whole, _) => Some(Place::Whole),
            (Self::Side(side), Size::Half, _) => Some(Place::Half(side)),
            (Self::Side(side), Size::Quarter, Some(part)) => Some(Place::Quarter(side, part)),
            (Self::Side(side), Size::Quarter, None) => Some(Place::Quarter(side, Part::Split)),
            _ => None,
        }
    }
}

impl From<Sides> for Spot {
    fn from(sides: Sides) -> Self {
        match sides {
            Sides::Both => Self::Whole,
            Sides::Left => Self::Side(Side::Left),
            Sides::Right => Self::Side(Side::Right),
        }
    }
}

/// A target as forms send it: an animal's number and a spot, "12-left".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Target {
    /// The animal.
    pub animal: AnimalId,
    /// Where on it.
    pub spot: Spot,
}

impl std::fmt::Display for Target {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}-{}", self.animal, self.spot.as_str())
    }
}
impl std::str::FromStr for Target {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let (animal, spot) = text.split_once('-').ok_or(())?;
        let spot = match spot {
            "whole" => Spot::Whole,
            "left" => Spot::Side(Side::Left),
            "right" => Spot::Side(Side::Right),
            _ => return Err(()),
        };
        Ok(Self { animal: animal.parse().map_err(|_| ())?, spot })
    }
}

/// One share to be put somewhere, or taken off with `None`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// The order.
    pub reservation: ReservationId,
    /// Where to.
    pub to: Option<Target>,
    /// The form's field, for what is wrong with it.
    pub field: String,
}

/// Moves shares, all of them or none; places that come free by one move can be taken by another. A share from the waiting
/// list leaves it.
///
/// # Errors
/// [`Failure::Refused`] when there is no room, the species differ, the animal is lost or condemned, the order was cancelled
/// or is invoiced, the share is locked where it is, nothing is left of the offering, or the billed weight of an invoiced
/// share would change.
pub fn place_shares(tx: &mut Tx, doing: &Doing, moves: &[Move]) -> Result<usize, Failure> {
    let ids: Vec<_> = moves.iter().map(|m| m.reservation).collect();
    let orders = unplaced::orders(tx.conn(), &ids)?;
    let before = placements::shares_of(tx.conn(), &ids)?;
    let now_at = |id| before.iter().find(|s| s.reservation == id);
    let changed: Vec<&Move> = moves.iter().filter(|m| now_at(m.reservation).map(target_of) != m.to).collect();
    let mut touched: Vec<AnimalId> = changed.iter().filter_map(|m| m.to.map(|t| t.animal)).collect();
    touched.extend(changed.iter().filter_map(|m| now_at(m.reservation).map(|s| s.animal)));
    touched.sort_unstable();
    touched.dedup();
    let head: HashMap<AnimalId, Animal> = animals::many(tx.conn(), &touched)?.into_iter().map(|a| (a.id, a)).collect();
    let condemned: Vec<AnimalId> = carcasses::weigh_ins(tx.conn(), &touched)?
        .into_values()
        .filter(|w| w.condemned == Condemned::Whole)
        .map(|w| w.animal_id)
        .collect();
    let invoiced = placements::invoiced(tx.conn(), &ids)?;
    let locked = place_locks::of(tx.conn(), &ids)?;
    let weights = billed(tx, &touched)?;

    let mut problems = Problems::default();
    for m in &changed {
        if let Some(invoice) = invoiced.iter().find(|i| i.reservation == m.reservation) {
            problems.add(
                &m.field,
                format!("Invoice {} is issued for this share. Void it first, then move the share.", invoice.number),
            );
        }
        if locked.contains(&m.reservation) {
            let name = orders.get(&m.reservation).map_or("", |(_, _, name)| name.as_str());
            problems.add(
                &m.field,
                format!(
                    "The share of {name} is locked where it is. Unlock it on its order’s page first, then move it."
                ),
            );
        }
        placements::take_off(tx, m.reservation)?;
    }
    for m in &changed {
        let (order, offering, name) = orders.get(&m.reservation).ok_or(Failure::NotFound)?;
        let Some(to) = m.to else { continue };
        let animal = head.get(&to.animal).ok_or(Failure::NotFound)?;
        match refusal(order, offering, animal, condemned.contains(&animal.id)) {
            Some(sentence) => problems.add(&m.field, sentence),
            None => {
                let shares = placements::shares_on(tx.conn(), &[animal.id])?;
                let taken = placements::taken(&shares, animal.id);
                let wanted = to.spot.place(order.size, order.part);
                let found = choices(&taken, order.size, order.part).into_iter().find(|c| Some(c.place) == wanted);
                match found {
                    Some(choice) => placements::put(tx, animal.id, order.id, &choice.slots)?,
                    None => problems.add(&m.field, no_room(name, order, animal, to.spot)),
                }
            }
        }
        if order.waiting_since.is_some() {
            leave_waiting_list(tx, doing, order, offering, m, &mut problems)?;
        }
    }
    let after = billed(tx, &touched)?;
    let others: Vec<_> = weights.keys().copied().collect();
    for invoice in placements::invoiced(tx.conn(), &others)? {
        if weights.get(&invoice.reservation) != after.get(&invoice.reservation) {
            let field = changed.first().map_or("", |m| m.field.as_str());
            problems.add(
                field,
                format!(
                    "This would change the billed weight of invoice {}, which is issued. Void it first.",
                    invoice.number
                ),
            );
        }
    }
    problems.check()?;
    for m in &changed {
        let Some((order, _, name)) = orders.get(&m.reservation) else { continue };
        tell(tx, doing, order, name, now_at(m.reservation), m.to, &head)?;
    }
    Ok(changed.len())
}

/// Where a share is now.
pub fn target_of(share: &Share) -> Target {
    Target { animal: share.animal, spot: Spot::of(share.place) }
}

fn refusal(order: &Reservation, offering: &Offering, animal: &Animal, condemned: bool) -> Option<String> {
    if order.cancelled_at.is_some() {
        return Some(format!("Order {} was cancelled, so it gets no place.", order.number));
    }
    if animal.species != offering.species {
        let (has, wants) = (animal.species.label(), offering.species.label());
        return Some(format!("{} is {has}, and this order is for {wants}. Choose another animal.", animal.name()));
    }
    if animal.lost_on.is_some() {
        return Some(format!("{} was lost. Choose another animal.", animal.name()));
    }
    condemned.then(|| format!("{} was condemned. Choose another animal.", animal.name()))
}

fn no_room(name: &str, order: &Reservation, animal: &Animal, spot: Spot) -> String {
    let (size, head) = (order.size.label(), animal.name());
    match spot {
        Spot::Whole => {
            format!("{head} has other owners, so there is no room for the {size} of {name}. Move them first.")
        }
        Spot::Side(side) => format!(
            "There is no room for the {size} of {name} on the {} side of {head}. A side takes one half, or two split quarters, or one fore and one hind quarter.",
            side.label()
        ),
    }
}

fn leave_waiting_list(
    tx: &mut Tx,
    doing: &Doing,
    order: &Reservation,
    offering: &Offering,
    m: &Move,
    problems: &mut Problems,
) -> Result<(), Failure> {
    // What is held for this order is its own.
    waiting_offers::close(tx, order.id, OfferEnd::Accepted, doing.now.at)?;
    let sold = Sold::count(reservations::held(tx.conn(), offering.id)?).and(order.size, order.part, 1);
    if !sold.fits(offering.head_count) {
        problems.add(
            &m.field,
            format!(
                "All {} head of {}, {} are sold, so order {} stays on the waiting list. Raise the head count of the offering first.",
                offering.head_count,
                offering.species.label(),
                offering.season,
                order.number
            ),
        );
        return Ok(());
    }
    if unplaced::off_waiting_list(tx, order.id, order.version)? { Ok(()) } else { Err(Failure::Stale) }
}

fn billed(tx: &mut Tx, animals: &[AnimalId]) -> Result<HashMap<ReservationId, Weight>, Failure> {
    let farm = farm::get(tx.conn())?;
    let carcasses = billed_weights(tx.conn(), &farm, animals)?;
    Ok(carcasses.into_iter().flat_map(|c| c.shares).map(|s| (s.reservation, s.weight)).collect())
}

/// "left side of Steer 229", "Steer 229".
fn whereabouts(animal: Option<&Animal>, spot: Spot) -> String {
    let name = animal.map(Animal::name).unwrap_or_default();
    match spot {
        Spot::Whole => name,
        Spot::Side(side) => format!("{} side of {name}", side.label()),
    }
}

fn tell(
    tx: &mut Tx,
    doing: &Doing,
    order: &Reservation,
    name: &str,
    from: Option<&Share>,
    to: Option<Target>,
    head: &HashMap<AnimalId, Animal>,
) -> Result<(), Failure> {
    let size = order.size.label();
    let was = from.map(|s| whereabouts(head.get(&s.animal), Spot::of(s.place)));
    let is = to.map(|t| whereabouts(head.get(&t.animal), t.spot));
    let line = match (was, is) {
        (_, None) => format!("The {size} of {name} has no place any more"),
        (None, Some(is)) => format!("The {size} of {name} has its place: {is}"),
        (Some(was), Some(is)) => format!("The {size} of {name} was moved from {was} to {is}"),
    };
    let animal = to.map(|t| t.animal).or(from.map(|s| s.animal));
    let told = Line {
        line,
        reservation: Some(order.id),
        customer: Some(order.customer_id),
        animal,
        date: animal.and_then(|id| head.get(&id)).and_then(|a| a.date_id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok(())
}
