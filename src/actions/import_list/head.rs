//! Animals of a list.

use super::carry::{Fate, Preview};
use crate::actions::change_animal::{AnimalFacts, add_animal};
use crate::actions::{Doing, Failure};
use crate::book::imports;
use crate::book::store::Tx;
use crate::trade::dates;
use crate::trade::import_file::Head;
use crate::trade::typed_day::DayOrMonth;
use crate::trade::vocabulary::BirthPrecision;
use std::collections::HashSet;

/// Enters those that are not there by species and tag; head that are lost or weighed in are left out.
pub(super) fn carry<'a>(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    lines: impl Iterator<Item = (usize, &'a Head)>,
) -> Result<(), Failure> {
    let mut there: HashSet<_> = imports::living(tx.conn())?.into_iter().collect();
    for (line, head) in lines {
        let name = format!("{} {}", head.class.title(), head.tag);
        if head.gone {
            all.row(line, Fate::LeftOut, name, "It is lost or weighed in.");
            continue;
        }
        let key = (head.class.species(), head.tag.clone());
        if there.contains(&key) {
            all.row(line, Fate::There, name, "A live head has this tag. Nothing is changed.");
            continue;
        }
        let (birth_on, birth_precision) = match head.born {
            None => (None, BirthPrecision::Unknown),
            Some(DayOrMonth::Day(day)) => (Some(day), BirthPrecision::Exact),
            Some(DayOrMonth::Month(day)) => (Some(day), BirthPrecision::Month),
        };
        let facts = AnimalFacts {
            tag: head.tag.clone(),
            species: head.class.species(),
            class: head.class,
            sex: head.sex,
            birth_on,
            birth_precision,
            breed: head.breed.clone(),
            official_id: head.official_id.clone(),
            notes: head.notes.clone(),
            same_tag_ok: false,
        };
        let added = add_animal(tx, doing, &facts);
        if all.done(line, added)?.is_none() {
            continue;
        }
        there.insert(key);
        let born = match head.born {
            None => String::new(),
            Some(DayOrMonth::Day(day)) => format!("born {}", dates::full(day)),
            Some(DayOrMonth::Month(day)) => format!("born {}", day.format("%B %Y")),
        };
        let mut detail = vec![head.sex.label().to_string(), born, head.breed.clone(), head.official_id.clone()];
        detail.retain(|d| !d.is_empty());
        all.row(line, Fate::New, name, detail.join("; "));
    }
    Ok(())
}
