//! Entering an animal and correcting what is known of it.

use super::{Doing, Failure, Problems};
use crate::book::ids::AnimalId;
use crate::book::rows::animals::{Animal, NewAnimal};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, placements};
use crate::trade::animal::Class;
use crate::trade::official_id;
use crate::trade::share::Species;
use crate::trade::vocabulary::{BirthPrecision, Sex};
use chrono::NaiveDate;

/// What is known of an animal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnimalFacts {
    /// Tag, as the farm reads it.
    pub tag: String,
    /// Species.
    pub species: Species,
    /// Class, of that species.
    pub class: Class,
    /// Sex, as the class allows.
    pub sex: Sex,
    /// Birth day, or the first day of the month.
    pub birth_on: Option<NaiveDate>,
    /// How well it is known.
    pub birth_precision: BirthPrecision,
    /// Breed, or empty.
    pub breed: String,
    /// Official number as typed, or empty.
    pub official_id: String,
    /// The farm's own notes.
    pub notes: String,
    /// The farmer says that a second live animal carries the same tag.
    pub same_tag_ok: bool,
}

fn check(tx: &mut Tx, doing: &Doing, facts: &AnimalFacts, own: Option<AnimalId>) -> Result<String, Failure> {
    let mut problems = Problems::default();
    if facts.class.species() != facts.species {
        let usual: Vec<_> = Class::of(facts.species).map(Class::label).collect();
        problems.add(
            "class",
            format!("A {} is not {}. Choose one of: {}.", facts.class.label(), facts.species.label(), usual.join(", ")),
        );
    } else if !facts.class.allows(facts.sex) {
        let sex = facts.class.sex().map_or("", Sex::label);
        problems.add("sex", format!("A {} is {sex}. Correct the class or the sex.", facts.class.label()));
    }
    if facts.birth_on.is_some_and(|day| day > doing.now.today) {
        problems.add("birth", "The birth date is in the future. Correct it.");
    }
    let mut id = String::new();
    if !facts.official_id.is_empty() {
        match official_id::recognize(&facts.official_id, false) {
            Ok((_, tidy)) => id = tidy,
            Err(why) => problems.add("official_id", format!("{why}.")),
        }
    }
    if !facts.same_tag_ok
        && let Some(other) = animals::with_tag(tx.conn(), facts.species, &facts.tag, own)?
    {
        problems.add(
            "same_tag_ok",
            format!("{} carries this tag already. Correct the tag, or tick that there are two.", other.name()),
        );
    }
    problems.check()?;
    Ok(id)
}

/// Enters an animal.
///
/// # Errors
/// [`Failure::Refused`] when class, sex, birth or official number cannot be right, or the tag is taken and not confirmed.
pub fn add_animal(tx: &mut Tx, doing: &Doing, facts: &AnimalFacts) -> Result<AnimalId, Failure> {
    let official_id = check(tx, doing, facts, None)?;
    let f = facts.clone();
    let id = animals::add(
        tx,
        &NewAnimal {
            tag: f.tag,
            species: f.species,
            class: f.class.as_str().to_string(),
            sex: f.sex,
            birth_on: f.birth_on,
            birth_precision: f.birth_precision,
            breed: f.breed,
            official_id,
            notes: f.notes,
            date_id: None,
            lost_on: None,
            lost_reason: String::new(),
            created_at: doing.now.at,
        },
    )?;
    tell(tx, doing, id, format!("{} {} was entered", facts.class.title(), facts.tag))?;
    Ok(id)
}

/// Corrects what is known of an animal. Its species stays once somebody has a share of it or it is weighed in.
///
/// # Errors
/// As [`add_animal`]; [`Failure::Stale`] when somebody saved in between.
pub fn change_animal(
    tx: &mut Tx,
    doing: &Doing,
    id: AnimalId,
    version: i64,
    facts: &AnimalFacts,
) -> Result<(), Failure> {
    let stored = animals::get(tx.conn(), id)?;
    if stored.species != facts.species {
        let has_owners = !placements::shares_on(tx.conn(), &[id])?.is_empty();
        if has_owners || !carcasses::weigh_ins(tx.conn(), &[id])?.is_empty() {
            return Err(Failure::refuse(
                "species",
                "Shares of it are given out or its weight is recorded, so the species stays.",
            ));
        }
    }
    let official_id = check(tx, doing, facts, Some(id))?;
    let f = facts.clone();
    let changed = Animal {
        tag: f.tag,
        species: f.species,
        class: f.class.as_str().to_string(),
        sex: f.sex,
        birth_on: f.birth_on,
        birth_precision: f.birth_precision,
        breed: f.breed,
        official_id,
        notes: f.notes,
        ..stored.clone()
    };
    if !animals::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let (was, is) = (stored.name(), changed.name());
    let line = if was == is { "Its facts were corrected".to_string() } else { format!("{was} is {is} from now on") };
    tell(tx, doing, id, line)
}

fn tell(tx: &mut Tx, doing: &Doing, animal: AnimalId, line: String) -> Result<(), Failure> {
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, animal: Some(animal), ..Line::default() })?;
    Ok(())
}
