//! Animals, who owns what of them, and what was weighed.

use super::{Rows, day, weight, yes};
use crate::actions::Failure;
use crate::actions::export_tables::sales::share;
use crate::book::conn::DbConn;
use crate::book::exports;
use crate::book::ids::{AnimalId, DateId};
use crate::book::rows::animals::Animal;
use crate::trade::animal::Class;
use crate::trade::csv::Cell;
use crate::trade::import_file::Field;
use crate::trade::vocabulary::{BirthPrecision, Sex};
use std::collections::HashMap;

/// Rows of a page.
const PAGE: i64 = 500;

fn class(a: &Animal) -> &str {
    match a.class.parse::<Class>() {
        Ok(class) => class.label(),
        Err(_) => &a.class,
    }
}

const fn sex(sex: Sex) -> &'static str {
    sex.as_str()
}

pub(super) fn animal_headings() -> Vec<String> {
    let fields = [Field::Tag, Field::Species, Field::Class, Field::Sex, Field::Born, Field::Breed, Field::OfficialId];
    let mut names: Vec<String> = fields.iter().map(|f| f.label().to_string()).collect();
    names.extend(["Notes", "Day of slaughter", "Processor", "Lost or weighed in", "Why lost"].map(String::from));
    names
}

pub(super) fn animals(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::animals(c, after, PAGE)?;
    let dates: Vec<DateId> = found.iter().filter_map(|(a, _)| a.date_id).collect();
    let dates = exports::days(c, &dates)?;
    let mut out = Rows::default();
    for (a, weighed) in &found {
        let booked = a.date_id.and_then(|id| dates.get(&id));
        let born = a.birth_on.map(|d| match a.birth_precision {
            BirthPrecision::Month => d.format("%Y-%m").to_string(),
            _ => d.to_string(),
        });
        out.push(&[
            a.tag.as_str().into(),
            a.species.label().into(),
            class(a).into(),
            sex(a.sex).into(),
            Cell::Figure(born.unwrap_or_default()),
            a.breed.as_str().into(),
            a.official_id.as_str().into(),
            a.notes.as_str().into(),
            day(booked.map(|(d, _)| *d)),
            booked.map_or("", |(_, plant)| plant.as_str()).into(),
            day(a.lost_on.or(weighed.as_ref().map(|w| w.weighed_on))),
            a.lost_reason.as_str().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, found.last().map(|(a, _)| a.id.0)))
}

pub(super) fn place_headings() -> Vec<String> {
    ["Tag", "Species", "Class", "Quarter", "Order number", "Customer", "Share"].map(String::from).to_vec()
}

pub(super) fn places(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::animals(c, after, PAGE)?;
    let ids: Vec<AnimalId> = found.iter().map(|(a, _)| a.id).collect();
    let by_id: HashMap<AnimalId, &Animal> = found.iter().map(|(a, _)| (a.id, a)).collect();
    let mut out = Rows::default();
    for (id, slot, number, name, size, part) in exports::places(c, &ids)? {
        let Some(a) = by_id.get(&id) else { continue };
        out.push(&[
            a.tag.as_str().into(),
            a.species.label().into(),
            class(a).into(),
            slot.label().into(),
            number.into(),
            name.into(),
            share(size, part).into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}

pub(super) fn weigh_in_headings(unit: &str) -> Vec<String> {
    let weights = [
        "Hanging weight",
        "Total",
        "Left side",
        "Right side",
        "Left forequarter",
        "Left hindquarter",
        "Right forequarter",
        "Right hindquarter",
    ];
    let mut names: Vec<String> =
        ["Tag", "Species", "Class", "Weighed on", "Hot or cold", "Carcass number"].map(String::from).to_vec();
    names.extend(weights.iter().map(|w| format!("{w} ({unit})")));
    names.extend(["Head on", "Skin on", "Condemned", "What was condemned"].map(String::from));
    names
}

pub(super) fn weigh_ins(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::animals(c, after, PAGE)?;
    let mut out = Rows::default();
    for (a, w) in found.iter().filter_map(|(a, w)| Some((a, w.as_ref()?))) {
        out.push(&[
            a.tag.as_str().into(),
            a.species.label().into(),
            class(a).into(),
            day(Some(w.weighed_on)),
            w.basis.as_str().into(),
            w.carcass_number.as_str().into(),
            weight(Some(w.recorded()?)),
            weight(w.total),
            weight(w.left_side),
            weight(w.right_side),
            weight(w.left_fore),
            weight(w.left_hind),
            weight(w.right_fore),
            weight(w.right_hind),
            yes(w.head_on),
            yes(w.skin_on),
            w.condemned.as_str().into(),
            w.condemned_note.as_str().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, found.last().map(|(a, _)| a.id.0)))
}
