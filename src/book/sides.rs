//! Sides that two quarters share: whose they are, their cut sheets, the time of their deposits, and what the farm decided. And the
//! owners of one head, who share the parts there are few of whatever their shares are.

use super::at::At;
use super::conn::DbConn;
use super::ids::{AnimalId, CustomerId, DateId, ReservationId};
use super::placements::{self, Share};
use super::rows::animals::Animal;
use super::rows::sheets::{CutSheet, SideDecision};
use super::schema::{allocation, animal, placement, processing_date, side_decision};
use super::sheets;
use super::store::Tx;
use crate::trade::age;
use crate::trade::agree::parts::{self, Claim, PartDeal};
use crate::trade::agree::settle::settle;
use crate::trade::agree::two::{Two, Who};
use crate::trade::agree::{Decision, Quarter, Settlement, Turn};
use crate::trade::cuts::catalogue;
use crate::trade::cuts::sheet::{Hanging, Refused};
use crate::trade::share::{Part, Side, Size, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::BirthPrecision;
use crate::trade::weight::{Unit, Weight};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// The owner of one of the two quarters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// The order.
    pub reservation: ReservationId,
    /// The order's number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// When the first of the deposit came.
    pub deposit: Option<At>,
    /// The cut sheet.
    pub sheet: Option<CutSheet>,
}

impl Holder {
    /// The revision of the cut sheet; 0 for none.
    pub fn revision(&self) -> i64 {
        self.sheet.as_ref().map_or(0, |s| s.revision)
    }
    const fn turn(&self) -> Turn {
        Turn { deposit: deposit_of(self.deposit), order: self.reservation.0 }
    }
}

const fn deposit_of(at: Option<At>) -> Option<i64> {
    match at {
        Some(At(ms)) => Some(ms),
        None => None,
    }
}

/// A side with two quarters of different orders.
#[derive(Debug, Clone)]
pub struct SharedSide {
    /// The animal.
    pub animal: Animal,
    /// Its date.
    pub date: DateId,
    /// The day of slaughter.
    pub kill_on: NaiveDate,
    /// Which side.
    pub side: Side,
    /// The two quarters, the lower order first.
    pub quarters: Two<Holder>,
    /// The animal's other owners: their turns and their cut sheets.
    pub others: Vec<Holder>,
    /// What was decided, whether it holds or not.
    pub decisions: Vec<SideDecision>,
}

impl SharedSide {
    /// "left side of Steer 226".
    pub fn name(&self) -> String {
        format!("{} side of {}", self.side.label(), self.animal.name())
    }
    /// Where the page of this side is.
    pub fn url(&self) -> String {
        format!("/animals/{}/sides/{}", self.animal.id, self.side)
    }
    /// Which of the two an order is.
    pub fn who(&self, order: ReservationId) -> Option<Who> {
        Who::BOTH.into_iter().find(|who| self.quarters.of(*who).reservation == order)
    }
    /// Whether a decision was made for the sheets as they are now.
    pub fn holds(&self, d: &SideDecision) -> bool {
        let now = self.quarters.as_ref().map(|q| (q.reservation, q.revision()));
        (now.first, now.second) == ((d.first_id, d.first_revision), (d.second_id, d.second_revision))
    }
    /// The two sheets settled as they are now.
    ///
    /// # Errors
    /// A sentence, when a stored sheet cannot be read.
    pub fn settled(&self) -> Result<Settlement, String> {
        self.with_trade(Weight::ZERO, Unit::Lb, settle)?.map_err(said)
    }
    /// Does something with the side as the rules of the trade see it; `weight` is the side's.
    ///
    /// # Errors
    /// A sentence, when a stored sheet cannot be read.
    pub fn with_trade<T>(
        &self,
        weight: Weight,
        unit: Unit,
        act: impl FnOnce(&crate::trade::agree::Side<'_>) -> T,
    ) -> Result<T, String> {
        let read = |h: &Holder| h.sheet.as_ref().map(|s| sheet_json::read(&s.sheet)).transpose();
        let kept: Two<Option<Kept>> = Two::new(read(&self.quarters.first)?, read(&self.quarters.second)?);
        let others: Vec<(Option<Kept>, Turn)> =
            self.others.iter().map(|h| Ok((read(h)?, h.turn()))).collect::<Result<_, String>>()?;
        let claims: Vec<Claim<'_>> = others
            .iter()
            .filter_map(|(kept, turn)| Some(Claim { parts: &kept.as_ref()?.sheet.parts, turn: *turn }))
            .collect();
        let decided: BTreeMap<String, Decision> =
            self.decisions.iter().filter(|d| self.holds(d)).map(|d| (d.block.clone(), d.decision)).collect();
        let any = |is: fn(&Kept) -> bool| kept.each().into_iter().flatten().any(is);
        let born = self.animal.birth_on.filter(|_| self.animal.birth_precision != BirthPrecision::Unknown);
        let hanging = Hanging {
            species: self.animal.species,
            unit,
            weight,
            size: Size::Half,
            part: Part::Split,
            age_months: born.and_then(|born| age::months(born, self.kill_on)),
            head_on: any(|k| k.head_on),
            skin_on: any(|k| k.skin_on),
        };
        let quarter =
            |who| Quarter { sheet: kept.of(who).as_ref().map(|k| &k.sheet), turn: self.quarters.of(who).turn() };
        let quarters = Two::new(quarter(Who::First), quarter(Who::Second));
        Ok(act(&crate::trade::agree::Side { hanging, quarters, others: &claims, decided: &decided }))
    }
}

/// The owners of one head and what they ask for of the parts there are few of.
#[derive(Debug, Clone)]
pub struct Owners {
    /// The animal.
    pub animal: AnimalId,
    /// Its species.
    pub species: Species,
    /// Its owners, each once.
    pub holders: Vec<Holder>,
}

impl Owners {
    /// Where an order stands in the list, which is its place in the deals.
    pub fn place(&self, order: ReservationId) -> Option<usize> {
        self.holders.iter().position(|h| h.reservation == order)
    }
    /// Who gets which part outside the hanging weight, by time of deposit.
    ///
    /// # Errors
    /// A sentence, when a stored sheet cannot be read.
    pub fn parts(&self) -> Result<Vec<PartDeal>, String> {
        let read = |h: &Holder| h.sheet.as_ref().map(|s| sheet_json::read(&s.sheet)).transpose();
        let kept: Vec<Option<Kept>> = self.holders.iter().map(read).collect::<Result<_, _>>()?;
        let none: &[String] = &[];
        let claims: Vec<Claim<'_>> = self
            .holders
            .iter()
            .zip(&kept)
            .map(|(h, kept)| Claim { parts: kept.as_ref().map_or(none, |k| &k.sheet.parts), turn: h.turn() })
            .collect();
        Ok(parts::dealt(catalogue(self.species).map_err(ToString::to_string)?, &claims))
    }
}

/// The owners of these head, in a fixed number of queries.
///
/// # Errors
/// The database's own.
pub fn owners_of(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<Vec<Owners>> {
    let head: Vec<(AnimalId, Species)> =
        animal::table.filter(animal::id.eq_any(ids.to_vec())).select((animal::id, animal::species)).load(c)?;
    let shares = placements::shares_on(c, ids)?;
    let holders = holders(c, &shares)?;
    let of = |id| shares.iter().zip(&holders).filter(move |(s, _)| s.animal == id).map(|(_, h)| h.clone()).collect();
    Ok(head.into_iter().map(|(animal, species)| Owners { animal, species, holders: of(animal) }).collect())
}

/// The owners of the head an order's share is of, if it has a place.
///
/// # Errors
/// The database's own.
pub fn owners_beside(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<Owners>> {
    let on: Vec<AnimalId> =
        placement::table.filter(placement::reservation_id.eq(order)).select(placement::animal_id).distinct().load(c)?;
    Ok(owners_of(c, &on)?.pop())
}

/// A refusal of the rules, for a stored sheet: that is a fault of ours.
pub fn said(refused: Refused) -> String {
    format!("a stored cut sheet cannot be read: {refused:?}")
}

/// The shared sides of these dates, in the order of head and side. A fixed number of queries, however many dates.
///
/// # Errors
/// The database's own.
pub fn on_dates(c: &mut DbConn, dates: &[DateId]) -> QueryResult<Vec<SharedSide>> {
    let rows = animal::table
        .inner_join(processing_date::table)
        .filter(animal::date_id.eq_any(dates.to_vec()))
        .filter(animal::lost_on.is_null())
        .order(animal::id)
        .select((Animal::as_select(), processing_date::id, processing_date::kill_on))
        .load(c)?;
    gather(c, rows)
}

/// One side, if two quarters share it and the animal has a date.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, id: AnimalId, side: Side) -> QueryResult<Option<SharedSide>> {
    Ok(of_animals(c, &[id])?.into_iter().find(|s| s.side == side))
}

/// The side an order's share is a quarter of, if it is shared.
///
/// # Errors
/// The database's own.
pub fn of_order(c: &mut DbConn, order: ReservationId) -> QueryResult<Option<SharedSide>> {
    let on: Vec<AnimalId> =
        placement::table.filter(placement::reservation_id.eq(order)).select(placement::animal_id).distinct().load(c)?;
    Ok(of_animals(c, &on)?.into_iter().find(|s| s.who(order).is_some()))
}

fn of_animals(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<Vec<SharedSide>> {
    let rows = animal::table
        .inner_join(processing_date::table)
        .filter(animal::id.eq_any(ids.to_vec()))
        .filter(animal::lost_on.is_null())
        .select((Animal::as_select(), processing_date::id, processing_date::kill_on))
        .load(c)?;
    gather(c, rows)
}

fn gather(c: &mut DbConn, head: Vec<(Animal, DateId, NaiveDate)>) -> QueryResult<Vec<SharedSide>> {
    let ids: Vec<AnimalId> = head.iter().map(|(a, ..)| a.id).collect();
    let shares = placements::shares_on(c, &ids)?;
    let holders = holders(c, &shares)?;
    let decisions: Vec<SideDecision> = side_decision::table
        .filter(side_decision::animal_id.eq_any(ids))
        .order((side_decision::animal_id, side_decision::side, side_decision::block))
        .select(SideDecision::as_select())
        .load(c)?;
    let mut found = Vec::new();
    for (animal, date, kill_on) in head {
        let own: Vec<(&Share, &Holder)> = shares.iter().zip(&holders).filter(|(s, _)| s.animal == animal.id).collect();
        for side in Side::ALL {
            let on = own.iter().filter(|(s, _)| is_split_quarter(s) && s.side() == Some(*side));
            let mut pair: Vec<&Holder> = on.map(|(_, h)| *h).collect();
            pair.sort_by_key(|h| h.reservation);
            let [first, second] = pair.as_slice() else { continue };
            let is_other = |h: &&Holder| h.reservation != first.reservation && h.reservation != second.reservation;
            found.push(SharedSide {
                quarters: Two::new((*first).clone(), (*second).clone()),
                others: own.iter().map(|(_, h)| *h).filter(is_other).cloned().collect(),
                decisions: decisions.iter().filter(|d| d.animal_id == animal.id && d.side == *side).cloned().collect(),
                animal: animal.clone(),
                date,
                kill_on,
                side: *side,
            });
        }
    }
    Ok(found)
}

/// The owners of these shares, in their order.
fn holders(c: &mut DbConn, shares: &[Share]) -> QueryResult<Vec<Holder>> {
    let orders: Vec<ReservationId> = shares.iter().map(|s| s.reservation).collect();
    let sheets = sheets::of(c, &orders)?;
    let deposits = deposits(c, &orders)?;
    let holder = |s: &Share| Holder {
        reservation: s.reservation,
        number: s.number.clone(),
        customer: s.customer,
        name: s.name.clone(),
        deposit: deposits.get(&s.reservation).copied(),
        sheet: sheets.get(&s.reservation).cloned(),
    };
    Ok(shares.iter().map(holder).collect())
}

/// A quarter that is half of a side; fore and hind quarters share no cut.
fn is_split_quarter(share: &Share) -> bool {
    share.size == Size::Quarter && !matches!(share.part, Some(Part::Fore | Part::Hind))
}

/// When the first money for each of these orders was put to it.
fn deposits(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, At>> {
    let rows: Vec<(Option<ReservationId>, Option<At>)> = allocation::table
        .filter(allocation::reservation_id.eq_any(orders.to_vec()))
        .filter(allocation::amount.gt(0_i64))
        .group_by(allocation::reservation_id)
        .select((allocation::reservation_id, diesel::dsl::min(allocation::made_at)))
        .load(c)?;
    Ok(rows.into_iter().filter_map(|(id, at)| Some((id?, at?))).collect())
}

/// Writes a decision in place of the one there was.
///
/// # Errors
/// The database's own.
pub fn decide(tx: &mut Tx, new: &SideDecision) -> QueryResult<()> {
    let known = side_decision::table.find((new.animal_id, new.side, new.block.clone()));
    if diesel::update(known).set(new.clone()).execute(tx.conn())? == 0 {
        diesel::insert_into(side_decision::table).values(new.clone()).execute(tx.conn())?;
    }
    Ok(())
}
