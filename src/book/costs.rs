//! What animals cost, and what each bears of the cost of a lot. The parts are reckoned from what hangs and stored nowhere.

use super::animals::name_of;
use super::conn::DbConn;
use super::ids::{AnimalId, CostId};
use super::rows::animals::WeighIn;
use super::rows::costs::{Cost, CostHead, NewCost};
use super::schema::{animal, cost, cost_head, weigh_in};
use super::store::Tx;
use crate::trade::costs::{CostKind, SharedBy, shared, shared_now};
use crate::trade::money::Money;
use crate::trade::share::Species;
use crate::trade::vocabulary::Condemned;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// An animal of a lot and what it bears.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Borne {
    /// The animal.
    pub animal: AnimalId,
    /// "Steer 229".
    pub name: String,
    /// Its hanging weight; nothing when it was lost or condemned, none while it is not known.
    pub hangs: Option<Weight>,
    /// What it bears of the cost.
    pub part: Money,
}

/// A cost with its animals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// The cost.
    pub cost: Cost,
    /// Its animals in the order they were entered; the parts add up to the amount.
    pub heads: Vec<Borne>,
    /// How it is shared as things stand: evenly until all of them hang.
    pub now: SharedBy,
}

impl Lot {
    /// What an animal bears of it.
    pub fn part_of(&self, id: AnimalId) -> Option<Money> {
        self.heads.iter().find(|h| h.animal == id).map(|h| h.part)
    }
}

/// Writes a cost down.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewCost, animals: &[AnimalId]) -> QueryResult<CostId> {
    let id = diesel::insert_into(cost::table).values(new.clone()).returning(cost::id).get_result(tx.conn())?;
    heads(tx, id, animals)?;
    Ok(id)
}

fn heads(tx: &mut Tx, id: CostId, animals: &[AnimalId]) -> QueryResult<()> {
    for animal_id in animals {
        let row = CostHead { cost_id: id, animal_id: *animal_id };
        diesel::insert_into(cost_head::table).values(row).execute(tx.conn())?;
    }
    Ok(())
}

/// Saves a cost and its animals if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Cost, animals: &[AnimalId], version: i64) -> QueryResult<bool> {
    let next = Cost { version: version.saturating_add(1), ..changed.clone() };
    let row = cost::table.filter(cost::id.eq(changed.id)).filter(cost::version.eq(version));
    if diesel::update(row).set(next).execute(tx.conn())? != 1 {
        return Ok(false);
    }
    diesel::delete(cost_head::table.filter(cost_head::cost_id.eq(changed.id))).execute(tx.conn())?;
    heads(tx, changed.id, animals)?;
    Ok(true)
}

/// One cost with its animals.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: CostId) -> QueryResult<Lot> {
    lots(c, &[id])?.pop().ok_or(diesel::result::Error::NotFound)
}

/// These costs with their animals, the latest day first: one query.
///
/// # Errors
/// The database's own.
pub fn lots(c: &mut DbConn, ids: &[CostId]) -> QueryResult<Vec<Lot>> {
    type Head = (AnimalId, String, Species, String, Option<NaiveDate>);
    let rows: Vec<(Cost, Head, Option<WeighIn>)> = cost_head::table
        .inner_join(cost::table)
        .inner_join(animal::table.left_join(weigh_in::table))
        .filter(cost::id.eq_any(ids.to_vec()))
        .order((cost::on_day.desc(), cost::id.desc(), animal::id.asc()))
        .select((
            Cost::as_select(),
            (animal::id, animal::class, animal::species, animal::tag, animal::lost_on),
            Option::<WeighIn>::as_select(),
        ))
        .load(c)?;
    let mut lots: Vec<Lot> = Vec::new();
    for (cost, (animal, class, species, tag, lost_on), weighed) in rows {
        let hangs = match (&weighed, lost_on) {
            (_, Some(_)) => Some(Weight::ZERO),
            (Some(w), None) if w.condemned == Condemned::Whole => Some(Weight::ZERO),
            (Some(w), None) => w.recorded().ok(),
            (None, None) => None,
        };
        let head = Borne { animal, name: name_of(&class, species, &tag), hangs, part: Money::ZERO };
        match lots.last_mut().filter(|l| l.cost.id == cost.id) {
            Some(lot) => lot.heads.push(head),
            None => lots.push(Lot { now: cost.shared_by, cost, heads: vec![head] }),
        }
    }
    for lot in &mut lots {
        let hangs: Vec<_> = lot.heads.iter().map(|h| h.hangs).collect();
        lot.now = shared_now(lot.cost.shared_by, &hangs);
        for (head, part) in lot.heads.iter_mut().zip(shared(lot.cost.amount, lot.cost.shared_by, &hangs)) {
            head.part = part;
        }
    }
    Ok(lots)
}

/// The costs of these animals that count, with all the animals they are shared with, the latest day first: two queries.
///
/// # Errors
/// The database's own.
pub fn of_animals(c: &mut DbConn, animals: &[AnimalId]) -> QueryResult<Vec<Lot>> {
    let ids: Vec<CostId> = cost_head::table
        .inner_join(cost::table)
        .filter(cost_head::animal_id.eq_any(animals.to_vec()))
        .filter(cost::taken_back_at.is_null())
        .select(cost_head::cost_id)
        .distinct()
        .load(c)?;
    lots(c, &ids)
}

/// What each of these animals cost in all as things stand; those nothing was entered for are left out. Two queries for any number.
///
/// # Errors
/// The database's own.
pub fn per_animal(c: &mut DbConn, animals: &[AnimalId]) -> QueryResult<HashMap<AnimalId, Money>> {
    let mut cents: BTreeMap<AnimalId, i64> = animals.iter().map(|id| (*id, 0)).collect();
    let lots = of_animals(c, animals)?;
    let mut known: HashMap<AnimalId, Money> = HashMap::new();
    for head in lots.iter().flat_map(|l| &l.heads) {
        if let Some(sum) = cents.get_mut(&head.animal) {
            *sum = sum.saturating_add(head.part.cents());
            known.insert(head.animal, Money::from_cents(*sum));
        }
    }
    Ok(known)
}

/// At most `limit` costs, the latest day first, after the one with this day and id; those taken back among them.
///
/// # Errors
/// The database's own.
pub fn page(c: &mut DbConn, before: Option<(NaiveDate, CostId)>, limit: i64) -> QueryResult<Vec<Lot>> {
    let mut query =
        cost::table.order((cost::on_day.desc(), cost::id.desc())).limit(limit).select(cost::id).into_boxed();
    if let Some((day, id)) = before {
        query = query.filter(cost::on_day.lt(day).or(cost::on_day.eq(day).and(cost::id.lt(id))));
    }
    let ids: Vec<CostId> = query.load(c)?;
    lots(c, &ids)
}

/// The costs of these days that count: what each was for and how much.
///
/// # Errors
/// The database's own.
pub fn between(c: &mut DbConn, from: NaiveDate, to: NaiveDate) -> QueryResult<Vec<(CostKind, Money)>> {
    cost::table
        .filter(cost::taken_back_at.is_null())
        .filter(cost::on_day.between(from, to))
        .select((cost::kind, cost::amount))
        .load(c)
}
