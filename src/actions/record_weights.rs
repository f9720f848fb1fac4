//! Recording the hanging weights of a processing date, all head in one transaction.

use super::lose_animal::{give_back, lose_animal};
use super::{Doing, Failure, Problems};
use crate::book::at::At;
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, dates, farm, placements};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::dates::full;
use crate::trade::dressing::{Doubt, Dressed, doubts};
use crate::trade::share::Side;
use crate::trade::vocabulary::{CarcassBasis, Condemned};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::collections::HashMap;

/// What became of a head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It hung; perhaps without condemned parts, which the note names.
    Hung {
        /// The weights.
        hung: Hung,
        /// Condemned parts; `None` when nothing was.
        condemned_parts: Option<String>,
    },
    /// The whole carcass was condemned.
    Condemned(String),
    /// It was lost before slaughter.
    Lost(String),
    /// Nothing is known yet; takes back what was recorded.
    Open,
}

/// One head of the form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WeighRow {
    /// The animal.
    pub animal: AnimalId,
    /// The version of its weigh-in the form was opened with; 0 when there was none.
    pub version: i64,
    /// What became of it.
    pub fate: Fate,
    /// The plant's number, or empty.
    pub carcass_number: String,
    /// Whether the head was on.
    pub head_on: bool,
    /// Whether the skin was on.
    pub skin_on: bool,
    /// The weights the farmer ticked as right, as [`confirming`] writes them; empty when none.
    pub confirmed: String,
}

/// One form for all head of a date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WeighForm {
    /// The date.
    pub date: DateId,
    /// Hot or cold.
    pub basis: CarcassBasis,
    /// The day of weighing.
    pub weighed_on: NaiveDate,
    /// Whether basis and day hold for the head recorded before as well; else those keep their own.
    pub for_saved_too: bool,
    /// Its head.
    pub rows: Vec<WeighRow>,
}

/// The weights as a tick repeats them: "241.00", or "121.00 + 120.00". A tick given for other weights counts for nothing.
pub fn confirming(hung: Hung) -> String {
    let parts = match hung {
        Hung::Total(total) => vec![total],
        Hung::Sides { left, right } => vec![left, right],
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            vec![left_fore, left_hind, right_fore, right_hind]
        }
    };
    parts.into_iter().map(Weight::shown).collect::<Vec<_>>().join(" + ")
}

/// What about these weights needs a second look.
///
/// # Errors
/// [`Failure::Refused`] when they add up to more than a weight can be.
pub fn doubts_about(
    class: Option<Class>,
    dressed: Dressed,
    live: Option<Weight>,
    hung: Hung,
) -> Result<Vec<Doubt>, Failure> {
    let sides = match (hung.side(Side::Left)?, hung.side(Side::Right)?) {
        (Some(left), Some(right)) => Some((left, right)),
        _ => None,
    };
    // Without a class there is no range to judge the total by; the sides can be compared still.
    let live = class.and(live);
    Ok(doubts(class.unwrap_or(Class::Steer), dressed, live, hung.total()?, sides))
}

/// "Barrow 41: 241.00 lb. That is 83.1 % of live weight; …. Correct it, or tick that it is right."
///
/// # Errors
/// [`Failure::Refused`] when the weights add up to more than a weight can be.
pub fn doubtful_words(animal: &Animal, doubts: &[Doubt], hung: Hung, unit: &str) -> Result<String, Failure> {
    let class = animal.class().unwrap_or(Class::Steer);
    let why: Vec<_> = doubts.iter().map(|d| format!("{}.", d.sentence(class))).collect();
    let total = hung.total()?.shown();
    Ok(format!("{}: {total} {unit}. {} Correct it, or tick that it is right.", animal.name(), why.join(" ")))
}

/// What came of saving a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Recorded {
    /// Weights recorded or corrected.
    pub weighed: usize,
    /// Head condemned or lost.
    pub gone: usize,
    /// Orders that have to be told.
    pub to_tell: usize,
    /// Weights taken back.
    pub taken_back: usize,
}

/// The field of a head's row: `w12-left`.
pub fn field(animal: AnimalId, what: &str) -> String {
    format!("w{animal}-{what}")
}

/// Records what the form says of each head; blank rows stay open, rows that say what is stored already are left alone.
///
/// # Errors
/// [`Failure::Refused`] for doubtful weights that are not confirmed, weights before the day of slaughter, or a correction
/// after an invoice of one of its shares was issued (with its number); [`Failure::Stale`] when somebody saved in between.
pub fn record_weights(tx: &mut Tx, doing: &Doing, form: &WeighForm) -> Result<Recorded, Failure> {
    let (date, _) = dates::get(tx.conn(), form.date)?;
    let head: HashMap<AnimalId, Animal> =
        animals::on_date(tx.conn(), form.date)?.into_iter().map(|a| (a.id, a)).collect();
    let ids: Vec<_> = form.rows.iter().map(|r| r.animal).collect();
    let stored = carcasses::weigh_ins(tx.conn(), &ids)?;
    let live = animals::last_live_weights(tx.conn(), &ids)?;
    let unit = farm::get(tx.conn())?.unit;
    let mut problems = Problems::default();
    if form.weighed_on > doing.now.today {
        problems.add("weighed_on", "That day is in the future. Write the day the carcasses were weighed.");
    } else if form.weighed_on < date.kill_on && form.rows.iter().any(|r| matches!(r.fate, Fate::Hung { .. })) {
        problems.add(
            "weighed_on",
            format!(
                "Carcasses cannot be weighed before the day of slaughter, {}. Correct the day.",
                full(date.kill_on)
            ),
        );
    }
    let mut done = Recorded::default();
    for row in &form.rows {
        let animal = head.get(&row.animal).ok_or(Failure::NotFound)?;
        let old = stored.get(&row.animal);
        if animal.lost_on.is_some() || old.map_or(0, |w| w.version) != row.version {
            return Err(Failure::Stale);
        }
        let new = weigh_in_of(row, form, doing.now.at, old);
        if same(old, new.as_ref()) && !matches!(row.fate, Fate::Lost(_)) {
            continue;
        }
        let shares = placements::shares_on(tx.conn(), &[row.animal])?;
        let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
        if let Some(invoice) = placements::invoiced(tx.conn(), &orders)?.first() {
            problems.add(
                field(row.animal, "left"),
                format!(
                    "{}: invoice {} is issued for a share of it. To correct its weight, void that invoice first.",
                    animal.name(),
                    invoice.number
                ),
            );
            continue;
        }
        match &row.fate {
            Fate::Hung { hung, .. } => {
                let basis = new.as_ref().map_or(form.basis, |w| w.basis);
                let dressed = Dressed { basis, head_on: row.head_on, skin_on: row.skin_on };
                let weight = live.get(&row.animal).map(|w| w.weight);
                let doubts = doubts_about(animal.class(), dressed, weight, *hung)?;
                if !doubts.is_empty() && row.confirmed != confirming(*hung) {
                    let says = doubtful_words(animal, &doubts, *hung, unit.as_str())?;
                    problems.add(field(row.animal, "ok"), says);
                    continue;
                }
                if let Some(new) = new {
                    put(tx, old, &WeighIn { doubtful_confirmed: !doubts.is_empty(), ..new })?;
                }
                if old.is_some_and(|w| w.condemned == Condemned::Whole) {
                    placements::found_again(tx, row.animal)?;
                }
                done.weighed += 1;
                tell(tx, doing, form.date, row.animal, weighed_line(animal, old, *hung, basis, unit.as_str())?)?;
            }
            Fate::Condemned(note) => {
                if let Some(new) = new {
                    put(tx, old, &new)?;
                }
                tell(
                    tx,
                    doing,
                    form.date,
                    row.animal,
                    format!("The carcass of {} was condemned. {note}", animal.name()),
                )?;
                done.to_tell += give_back(tx, doing, row.animal, &format!("{} was condemned", animal.name()))?;
                done.gone += 1;
            }
            Fate::Lost(why) => {
                if old.is_some() {
                    carcasses::remove(tx, row.animal)?;
                }
                done.to_tell += lose_animal(tx, doing, row.animal, animal.version, form.weighed_on, why)?;
                done.gone += 1;
            }
            Fate::Open => {
                carcasses::remove(tx, row.animal)?;
                placements::found_again(tx, row.animal)?;
                done.taken_back += 1;
                tell(tx, doing, form.date, row.animal, format!("The weigh-in of {} was taken back", animal.name()))?;
            }
        }
    }
    problems.check()?;
    Ok(done)
}

fn put(tx: &mut Tx, old: Option<&WeighIn>, new: &WeighIn) -> Result<(), Failure> {
    match old {
        None => carcasses::add(tx, new)?,
        Some(old) => {
            if !carcasses::correct(tx, new, old.version)? {
                return Err(Failure::Stale);
            }
        }
    }
    Ok(())
}

/// The row a head's line of the form means; `None` when nothing is to be stored.
fn weigh_in_of(row: &WeighRow, form: &WeighForm, at: At, old: Option<&WeighIn>) -> Option<WeighIn> {
    let (basis, weighed_on) = match old {
        Some(old) if !form.for_saved_too => (old.basis, old.weighed_on),
        _ => (form.basis, form.weighed_on),
    };
    let (hung, condemned, note) = match &row.fate {
        Fate::Hung { hung, condemned_parts: None } => (Some(*hung), Condemned::None, String::new()),
        Fate::Hung { hung, condemned_parts: Some(note) } => (Some(*hung), Condemned::Parts, note.clone()),
        Fate::Condemned(note) => (None, Condemned::Whole, note.clone()),
        Fate::Lost(_) | Fate::Open => return None,
    };
    let mut new = WeighIn {
        animal_id: row.animal,
        weighed_on,
        basis,
        head_on: row.head_on,
        skin_on: row.skin_on,
        total: None,
        left_side: None,
        right_side: None,
        left_fore: None,
        left_hind: None,
        right_fore: None,
        right_hind: None,
        carcass_number: row.carcass_number.clone(),
        condemned,
        condemned_note: note,
        doubtful_confirmed: false,
        recorded_at: at,
        version: 1,
    };
    match hung {
        None => {}
        Some(Hung::Total(total)) => new.total = Some(total),
        Some(Hung::Sides { left, right }) => (new.left_side, new.right_side) = (Some(left), Some(right)),
        Some(Hung::Quarters { left_fore, left_hind, right_fore, right_hind }) => {
            (new.left_fore, new.left_hind) = (Some(left_fore), Some(left_hind));
            (new.right_fore, new.right_hind) = (Some(right_fore), Some(right_hind));
        }
    }
    Some(new)
}

/// Whether a row of this form says what is stored of its head already, so that saving it changes nothing.
pub fn says_what_is_stored(row: &WeighRow, form: &WeighForm, old: Option<&WeighIn>) -> bool {
    !matches!(row.fate, Fate::Lost(_)) && same(old, weigh_in_of(row, form, At(0), old).as_ref())
}

/// Whether the form says what is stored already.
fn same(old: Option<&WeighIn>, new: Option<&WeighIn>) -> bool {
    match (old, new) {
        (None, None) => true,
        (Some(old), Some(new)) => {
            let comparable = WeighIn {
                doubtful_confirmed: old.doubtful_confirmed,
                recorded_at: old.recorded_at,
                version: old.version,
                ..new.clone()
            };
            comparable == *old
        }
        _ => false,
    }
}

fn weighed_line(
    animal: &Animal,
    old: Option<&WeighIn>,
    hung: Hung,
    basis: CarcassBasis,
    unit: &str,
) -> Result<String, Failure> {
    let total = hung.total()?.shown();
    let basis = basis.as_str();
    Ok(match old.map(WeighIn::recorded).transpose()? {
        None => format!("{} hung {total} {unit}, {basis}", animal.name()),
        Some(was) => {
            format!("The weight of {} was corrected from {} to {total} {unit}, {basis}", animal.name(), was.shown())
        }
    })
}

fn tell(tx: &mut Tx, doing: &Doing, date: DateId, animal: AnimalId, line: String) -> Result<(), Failure> {
    let told = Line { line, animal: Some(animal), date: Some(date), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok(())
}
