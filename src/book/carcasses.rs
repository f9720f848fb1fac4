//! Hanging weights, and what each share of a carcass is billed for.

use super::conn::DbConn;
use super::ids::{AnimalId, DateId, ReservationId};
use super::placements::shares_on;
use super::rows::animals::{Animal, WeighIn};
use super::rows::farm::Farm;
use super::schema::{animal, processing_date, weigh_in};
use super::store::Tx;
use crate::trade::carcass::{CarcassError, Claim, Hung, Origin, Place, SplitBasis, divide};
use crate::trade::money::Overflow;
use crate::trade::share::{Side, Species};
use crate::trade::vocabulary::{CarcassBasis, Condemned};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// Why billed weights cannot be had.
#[derive(Debug, thiserror::Error)]
pub enum BilledError {
    /// The database's own.
    #[error("the book could not be read: {0}")]
    Db(#[from] diesel::result::Error),
    /// A carcass cannot be divided among the shares on it.
    #[error("Animal {tag}: {error}.")]
    Carcass {
        /// The animal's tag.
        tag: String,
        /// Why.
        error: CarcassError,
    },
}

/// One carcass, divided among its shares; `billed + unsold = total` to the hundredth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CarcassBilled {
    /// The animal.
    pub animal: AnimalId,
    /// Its tag.
    pub tag: String,
    /// Its species.
    pub species: Species,
    /// Its class, such as "Steer"; may be empty.
    pub class: String,
    /// Hot or cold.
    pub basis: CarcassBasis,
    /// What was weighed: the total, two sides or four quarters.
    pub hung: Hung,
    /// Its shares in the order of their numbers.
    pub shares: Vec<ShareBilled>,
    /// What the shares add up to.
    pub billed: Weight,
    /// What nobody has bought.
    pub unsold: Weight,
    /// The recorded hanging weight, added up from the columns of the book.
    pub total: Weight,
    /// The day of slaughter: of the processing date, else of the weighing.
    pub slaughtered_on: NaiveDate,
    /// Whether `billed + unsold` is the recorded weight: the cross-check shown beside a preview.
    pub adds_up: bool,
}

/// What one reservation is billed for on one carcass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShareBilled {
    /// The reservation.
    pub reservation: ReservationId,
    /// The order's number.
    pub number: String,
    /// Where it hangs.
    pub place: Place,
    /// Its side; a whole animal has both.
    pub side: Option<Side>,
    /// Its billed hanging weight.
    pub weight: Weight,
    /// Where the weight comes from.
    pub origin: Origin,
    /// The same in words: "Left side, hot", "Half of right side, hot".
    pub origin_words: String,
    /// Whether it is a fore or hind quarter that was not weighed itself.
    pub estimated: bool,
    /// The day of slaughter.
    pub slaughtered_on: NaiveDate,
}

impl WeighIn {
    /// What was weighed; `None` for a carcass that was condemned as a whole.
    pub fn hung(&self) -> Option<Hung> {
        if self.condemned == Condemned::Whole {
            return None;
        }
        match (self.total, self.left_side, self.right_side) {
            (Some(total), _, _) => Some(Hung::Total(total)),
            (None, Some(left), Some(right)) => Some(Hung::Sides { left, right }),
            _ => Some(Hung::Quarters {
                left_fore: self.left_fore?,
                left_hind: self.left_hind?,
                right_fore: self.right_fore?,
                right_hind: self.right_hind?,
            }),
        }
    }

    /// Every recorded weight added up, whatever kind it is.
    ///
    /// # Errors
    /// [`Overflow`] when they add up to more than a weight can be.
    pub fn recorded(&self) -> Result<Weight, Overflow> {
        let columns = [
            self.total,
            self.left_side,
            self.right_side,
            self.left_fore,
            self.left_hind,
            self.right_fore,
            self.right_hind,
        ];
        Weight::sum(columns.into_iter().flatten())
    }
}

/// Hanging weights of these animals.
///
/// # Errors
/// The database's own.
pub fn weigh_ins(c: &mut DbConn, animals: &[AnimalId]) -> QueryResult<HashMap<AnimalId, WeighIn>> {
    let rows: Vec<WeighIn> =
        weigh_in::table.filter(weigh_in::animal_id.eq_any(animals.to_vec())).select(WeighIn::as_select()).load(c)?;
    Ok(rows.into_iter().map(|w| (w.animal_id, w)).collect())
}

/// Records a weight for the first time.
///
/// # Errors
/// The database's own; a unique violation when there is one.
pub fn add(tx: &mut Tx, new: &WeighIn) -> QueryResult<()> {
    diesel::insert_into(weigh_in::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Corrects a weight if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn correct(tx: &mut Tx, changed: &WeighIn, version: i64) -> QueryResult<bool> {
    let next = WeighIn { version: version.saturating_add(1), ..changed.clone() };
    let rows = weigh_in::table.filter(weigh_in::animal_id.eq(changed.animal_id)).filter(weigh_in::version.eq(version));
    Ok(diesel::update(rows).set(next).execute(tx.conn())? == 1)
}

/// Takes a weigh-in back.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, animal: AnimalId) -> QueryResult<()> {
    diesel::delete(weigh_in::table.find(animal)).execute(tx.conn())?;
    Ok(())
}

/// The animals of a processing date that were not lost, in the order they were put on it.
///
/// # Errors
/// The database's own.
pub fn head_of(c: &mut DbConn, date: DateId) -> QueryResult<Vec<AnimalId>> {
    animal::table
        .filter(animal::date_id.eq(date))
        .filter(animal::lost_on.is_null())
        .order(animal::id)
        .select(animal::id)
        .load(c)
}

/// What each share of these animals is billed for, by the farm's way of dividing; sold places before unsold, shares by
/// reservation number. Animals without a weight, lost ones and condemned carcasses are left out: nothing is billed for them.
/// For a processing date, pass [`head_of`] it.
///
/// # Errors
/// [`BilledError`] when the book cannot be read, or a carcass cannot be divided (then two shares claim one place).
pub fn billed_weights(c: &mut DbConn, farm: &Farm, animals: &[AnimalId]) -> Result<Vec<CarcassBilled>, BilledError> {
    let rows: Vec<(Animal, WeighIn, Option<NaiveDate>)> = animal::table
        .inner_join(weigh_in::table)
        .left_join(processing_date::table)
        .filter(animal::id.eq_any(animals.to_vec()))
        .filter(animal::lost_on.is_null())
        .order(animal::id)
        .select((Animal::as_select(), WeighIn::as_select(), processing_date::kill_on.nullable()))
        .load(c)?;
    let ids: Vec<_> = rows.iter().map(|(a, ..)| a.id).collect();
    let shares = shares_on(c, &ids)?;
    let basis = if farm.split_basis == SplitBasis::Even.as_str() { SplitBasis::Even } else { SplitBasis::AsHung };
    let mut found = Vec::new();
    for (head, weighed, kill_on) in rows {
        let Some(hung) = weighed.hung() else { continue };
        let own: Vec<_> = shares.iter().filter(|s| s.animal == head.id).collect();
        let claims: Vec<_> = own.iter().map(|s| Claim { id: s.reservation, place: s.place }).collect();
        let wrong = |error| BilledError::Carcass { tag: head.tag.clone(), error };
        let divided = divide(hung, basis, &claims).map_err(wrong)?;
        let slaughtered_on = kill_on.unwrap_or(weighed.weighed_on);
        let billed: Vec<_> = own
            .iter()
            .zip(&divided.shares)
            .map(|(share, billed)| ShareBilled {
                reservation: share.reservation,
                number: share.number.clone(),
                place: share.place,
                side: share.side(),
                weight: billed.weight,
                origin: billed.origin,
                origin_words: origin_words(billed.origin, share.place, weighed.basis),
                estimated: billed.estimated,
                slaughtered_on,
            })
            .collect();
        let total = weighed.recorded().map_err(|e| wrong(e.into()))?;
        let adds_up =
            Weight::sum(billed.iter().map(|s| s.weight).chain([divided.unsold])).is_ok_and(|sum| sum == total);
        found.push(CarcassBilled {
            animal: head.id,
            tag: head.tag,
            species: head.species,
            class: head.class,
            basis: weighed.basis,
            hung,
            shares: billed,
            billed: divided.billed,
            unsold: divided.unsold,
            total,
            slaughtered_on,
            adds_up,
        });
    }
    Ok(found)
}

/// "Left side, hot", "Half of right side, hot", "Half of the total, cold": where a billed weight comes from, so that a
/// customer can reckon it again.
pub fn origin_words(origin: Origin, place: Place, basis: CarcassBasis) -> String {
    let side = match place {
        Place::Half(side) | Place::Quarter(side, _) => side.label(),
        Place::Whole => "whole",
    };
    let part = match place {
        Place::Quarter(_, part) => part.label(),
        _ => "",
    };
    let from = match origin {
        Origin::Total => "Whole carcass".to_string(),
        Origin::OwnSide if side == "left" => "Left side".to_string(),
        Origin::OwnSide => "Right side".to_string(),
        Origin::HalfOfTotal => format!("Half of the total, {side} side"),
        Origin::HalfOfSide => format!("Half of {side} side"),
        Origin::QuarterOfTotal => format!("A fourth of the total, {side} side"),
        Origin::OwnQuarter if side == "left" => format!("Left {part}"),
        Origin::OwnQuarter => format!("Right {part}"),
        Origin::EstimatedFore => format!("55 % of {side} side, forequarter not weighed"),
        Origin::EstimatedHind => format!("45 % of {side} side, hindquarter not weighed"),
    };
    format!("{from}, {}", basis.as_str())
}
