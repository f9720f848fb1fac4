//! The rows of a weigh-in form, the farmer's and the processor's: fields to rows, and stored weights to fields.

use crate::actions::record_weights::{Fate, WeighRow, field};
use crate::book::ids::AnimalId;
use crate::book::rows::animals::{Animal, WeighIn};
use crate::trade::carcass::Hung;
use crate::trade::dressing::Dressed;
use crate::trade::share::Species;
use crate::trade::vocabulary::{CarcassBasis, Condemned};
use crate::trade::weight::Weight;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;

crate::words! {
    /// What became of a head, as the form asks it.
    pub enum What {
        /// It hung.
        Hung = "hung", "It hung; nothing was condemned";
        /// Parts were condemned.
        Parts = "parts", "It hung; parts were condemned";
        /// The carcass was condemned.
        Condemned = "condemned", "The whole carcass was condemned";
        /// It was lost.
        Lost = "lost", "It was lost before slaughter";
    }
}

/// The fields of weights: their name's end, and how they are called.
pub const WEIGHTS: [(&str, &str); 7] = [
    ("left", "left side"),
    ("right", "right side"),
    ("total", "total"),
    ("lf", "left forequarter"),
    ("lh", "left hindquarter"),
    ("rf", "right forequarter"),
    ("rh", "right hindquarter"),
];

/// Whether the form asks if the skin was on.
pub const fn asks_skin(species: Species) -> bool {
    matches!(species, Species::Hog)
}

/// Whether the form asks if the head was on.
pub const fn asks_head(species: Species) -> bool {
    !matches!(species, Species::Beef)
}

/// Fills one head's fields: as stored, or as usual for its species.
#[must_use]
pub fn fill(draft: Draft, animal: &Animal, stored: Option<&WeighIn>) -> Draft {
    let name = |what: &str| field(animal.id, what);
    let usual = Dressed::usual(animal.species, CarcassBasis::Hot);
    let Some(w) = stored else {
        let mut draft = draft.with(name("version"), "0").with(name("what"), What::Hung.as_str());
        if usual.skin_on {
            draft = draft.with(name("skin"), "yes");
        }
        return draft;
    };
    let what = match w.condemned {
        Condemned::None => What::Hung,
        Condemned::Parts => What::Parts,
        Condemned::Whole => What::Condemned,
    };
    let mut draft = draft
        .with(name("version"), w.version.to_string())
        .with(name("what"), what.as_str())
        .with(name("note"), w.condemned_note.clone())
        .with(name("number"), w.carcass_number.clone());
    let weights = [w.left_side, w.right_side, w.total, w.left_fore, w.left_hind, w.right_fore, w.right_hind];
    for ((end, _), weight) in WEIGHTS.iter().zip(weights) {
        draft = draft.with_some(name(end), weight.map(Weight::short));
    }
    if w.head_on {
        draft = draft.with(name("head"), "yes");
    }
    if w.skin_on {
        draft = draft.with(name("skin"), "yes");
    }
    if w.doubtful_confirmed
        && let Some(hung) = w.hung()
    {
        draft = draft.with(name("ok"), crate::actions::record_weights::confirming(hung));
    }
    draft
}

/// Whether one head's fields are in the form at all. A weight without its version counts, so that it is asked about and
/// never passed over.
pub fn is_there(form: &FormIn, id: AnimalId) -> bool {
    let is_sent = |end: &str| !form.all(&field(id, end)).is_empty();
    is_sent("version") || WEIGHTS.iter().any(|(end, _)| is_sent(end))
}

/// Reads one head's row; `None` after recording what is wrong with it.
pub fn read(form: &mut FormIn, animal: &Animal) -> Option<WeighRow> {
    let called = animal.name();
    let name = |what: &str| field(animal.id, what);
    let version = form.whole_number(&name("version"), "Version", 0..=i64::MAX);
    let mut weights = [None; 7];
    let mut good = version.is_some();
    for ((end, words), weight) in WEIGHTS.iter().zip(&mut weights) {
        match form.optional_weight(&name(end), &format!("{called}, {words}")) {
            Some(read) => *weight = read,
            None => good = false,
        }
    }
    let what: Option<What> = form.word(&name("what"), &format!("{called}, what became of it"));
    let note = form.optional_text(&name("note"), &format!("{called}, note"), 200);
    let number = form.optional_text(&name("number"), &format!("{called}, carcass number"), 30);
    let (what, note, number) = (what?, note?, number?);
    if !good {
        return None;
    }
    let fate = fate(form, animal, what, note, weights)?;
    Some(WeighRow {
        animal: animal.id,
        version: version?,
        fate,
        carcass_number: number,
        head_on: asks_head(animal.species) && form.tick(&name("head")),
        skin_on: asks_skin(animal.species) && form.tick(&name("skin")),
        confirmed: form.line(&name("ok")),
    })
}

fn fate(form: &mut FormIn, animal: &Animal, what: What, note: String, weights: [Option<Weight>; 7]) -> Option<Fate> {
    let called = animal.name();
    let name = |what: &str| field(animal.id, what);
    if matches!(what, What::Condemned | What::Lost) {
        if let Some((end, _)) = WEIGHTS.iter().zip(weights).find(|(_, w)| w.is_some()).map(|(f, _)| f) {
            let gone = if what == What::Lost { "lost" } else { "condemned" };
            let says = format!("{called} is marked as {gone}, and a weight is written. Take one of them away.");
            form.problem(&name(end), says);
            return None;
        }
        return Some(if what == What::Lost { Fate::Lost(note) } else { Fate::Condemned(note) });
    }
    if what == What::Parts && note.is_empty() {
        form.problem(&name("note"), format!("{called}: write which parts were condemned."));
        return None;
    }
    let [left, right, total, left_fore, left_hind, right_fore, right_hind] = weights;
    let sides = left.is_some() || right.is_some();
    let quarters = [left_fore, left_hind, right_fore, right_hind].iter().any(Option::is_some);
    if usize::from(sides) + usize::from(quarters) + usize::from(total.is_some()) > 1 {
        form.problem(
            &name("total"),
            format!("{called} is weighed in more than one way. Keep the sides, or the quarters, or the total, and clear the others."),
        );
        return None;
    }
    let hung = if let Some(total) = total {
        Hung::Total(total)
    } else if quarters {
        match (left_fore, left_hind, right_fore, right_hind) {
            (Some(left_fore), Some(left_hind), Some(right_fore), Some(right_hind)) => {
                Hung::Quarters { left_fore, left_hind, right_fore, right_hind }
            }
            _ => {
                let blank = WEIGHTS.iter().zip(weights).skip(3).find(|(_, w)| w.is_none()).map(|(f, _)| f);
                let (end, words) = blank.copied().unwrap_or(("lf", "left forequarter"));
                form.problem(
                    &name(end),
                    format!("{called}, {words} is blank. Write all four quarters, or the total only."),
                );
                return None;
            }
        }
    } else {
        match (left, right) {
            (Some(left), Some(right)) => Hung::Sides { left, right },
            (None, None) => return Some(Fate::Open),
            (left, _) => {
                let (end, words) = if left.is_some() { ("right", "right side") } else { ("left", "left side") };
                form.problem(&name(end), format!("{called}, {words} is blank. Write both sides, or the total only."));
                return None;
            }
        }
    };
    Some(Fate::Hung { hung, condemned_parts: (what == What::Parts).then_some(note) })
}
