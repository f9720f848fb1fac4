//! Places where meat is handed over: added, changed, and not used any more.

use super::{Doing, Failure};
use crate::book::ids::PickupPlaceId;
use crate::book::pickup_places;
use crate::book::rows::pickups::{NewPickupPlace, PickupPlace};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};

/// The most places a farm has.
pub const MOST_PLACES: usize = 40;

/// A place as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceIn {
    /// "Pell Road Meats, counter".
    pub name: String,
    /// As on a map, lines kept.
    pub address: String,
    /// How to find it, what to bring.
    pub words: String,
}

/// Adds a place.
///
/// # Errors
/// [`Failure::Refused`] when there are too many.
pub fn add_place(tx: &mut Tx, doing: &Doing, new: &PlaceIn) -> Result<PickupPlaceId, Failure> {
    if pickup_places::places(tx.conn())?.iter().filter(|p| p.retired_at.is_none()).count() >= MOST_PLACES {
        let says = format!("There are {MOST_PLACES} places. Take one out of use first.");
        return Err(Failure::refuse("name", says));
    }
    let (name, address, words) = (new.name.clone(), new.address.clone(), new.words.clone());
    let id = pickup_places::add_place(tx, &NewPickupPlace { name, address, words, created_at: doing.now.at })?;
    tell(tx, doing, format!("Pickup place added: {}", new.name))?;
    Ok(id)
}

/// Changes a place; with `used` false it is offered for new windows no more.
///
/// # Errors
/// [`Failure::NotFound`], or [`Failure::Stale`] when somebody saved since `version`.
pub fn change_place(
    tx: &mut Tx,
    doing: &Doing,
    id: PickupPlaceId,
    version: i64,
    new: &PlaceIn,
    used: bool,
) -> Result<(), Failure> {
    let before = pickup_places::place(tx.conn(), id)?;
    let retired_at = if used { None } else { before.retired_at.or(Some(doing.now.at)) };
    let (name, address, words) = (new.name.clone(), new.address.clone(), new.words.clone());
    let changed = PickupPlace { name, address, words, retired_at, ..before };
    if !pickup_places::save_place(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    tell(tx, doing, format!("Pickup place changed: {}", new.name))
}

fn tell(tx: &mut Tx, doing: &Doing, line: String) -> Result<(), Failure> {
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?)
}
