//! The 30-month limit carried to the cut sheet: what a share's sheet says against the animal it would get.

use crate::actions::cut_sheet::usual;
use crate::actions::place_share::Target;
use crate::book::planning::{Situation, Wanted};
use crate::trade::age;
use crate::trade::cuts::sheet::{Hanging, Note, Refused};
use crate::trade::cuts::take_home::take_home;
use crate::trade::share::{Part, Species};
use crate::trade::sheet_json;
use crate::trade::vocabulary::BirthPrecision;
use crate::trade::weight::Unit;

/// Rules that the animal's age decides: broken from 30 months on, doubtful when the age is not known.
const BY_AGE: [&str; 3] = ["B12", "V12", "V13"];

/// What an order's cut sheet says against the animal it would get, in sentences; empty without a sheet, for other species than
/// cattle, and when it fits. The same rules as when the sheet is saved (9 CFR 310.22).
pub fn cautions(situation: &Situation, wanted: &Wanted, to: Option<Target>, unit: Unit) -> Vec<String> {
    let head = to.and_then(|t| situation.head.iter().find(|a| a.id == t.animal));
    let (Some(sheet), Some(animal)) = (&wanted.sheet, head) else { return Vec::new() };
    let Some((date, _)) = situation.date_of(animal) else { return Vec::new() };
    let size = wanted.reservation.size;
    let (Ok(kept), Ok((_, weight, _))) =
        (sheet_json::read(&sheet.sheet), usual(wanted.species, unit, size.quarters().saturating_mul(50)))
    else {
        return Vec::new();
    };
    if wanted.species != Species::Beef {
        return Vec::new();
    }
    let known = animal.birth_on.filter(|_| animal.birth_precision != BirthPrecision::Unknown);
    let hanging = Hanging {
        species: wanted.species,
        unit,
        weight,
        size,
        part: wanted.reservation.part.unwrap_or(Part::Split),
        age_months: known.and_then(|birth| age::months(birth, date.kill_on)),
        head_on: kept.head_on,
        skin_on: kept.skin_on,
    };
    let notes: Vec<Note> = match take_home(&hanging, &kept.sheet) {
        Ok(home) => home.cautions,
        Err(Refused::Broken(notes)) => notes,
        Err(Refused::Unknown { .. }) => Vec::new(),
    };
    let mut said: Vec<String> = Vec::new();
    for note in notes.into_iter().filter(|n| BY_AGE.contains(&n.rule.as_str())) {
        let sentence = format!("{}.", note.why.trim_end_matches('.'));
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    said
}
