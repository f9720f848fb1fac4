//! Parts outside the hanging weight: each once, no head where it is not kept, jowls with the whole head.

use super::{Found, Look};
use crate::trade::cuts::plan::at;
use crate::trade::share::{Size, Species};

/// V3, V14 and V20. What is not a part at all is refused before.
pub fn parts(look: &Look<'_>, found: &mut Found) {
    for (i, id) in look.sheet.parts.iter().enumerate() {
        let Some(part) = look.catalogue.part(id) else { continue };
        let at = format!("sheet.parts[{i}]");
        if look.sheet.parts.iter().take(i).any(|before| before == id) {
            let why = if part.per_animal == 1 {
                format!("There is one {} on an animal, and it is asked for twice. Name it once", part.name)
            } else {
                format!("{} are asked for twice. Named once they are all of this share’s. Name them once", part.name)
            };
            found.break_all(["V3"], &at, &why);
            if look.hanging.species == Species::Beef {
                found.break_all(["B13"], &at, &why);
            }
        }
        if part.needs_head && !look.hanging.head_on {
            let why = format!(
                "The {} is asked for, and the head is not kept. Have the head kept, or leave it out",
                part.name
            );
            found.break_all(["V14"], &at, &why);
        }
    }
    if !look.sheet.parts.is_empty() {
        let mut why = "Parts come home only if the plant saves them and the inspector passes them".to_string();
        if look.hanging.size != Size::Whole {
            why.push_str(
                ". What there is one of goes whole to one of the animal’s owners; the weight here is this share’s part of it",
            );
        }
        found.caution("V20", "sheet.parts", why);
    }
}

/// H10: a whole head keeps its jowls, and jowls on the head need the head.
pub fn jowl(look: &Look<'_>, found: &mut Found) {
    for block in &look.catalogue.blocks {
        let Some((choice, part)) = block.choices.iter().find_map(|c| Some((c, c.with_part.as_ref()?))) else {
            continue;
        };
        let wanted = look.sheet.parts.contains(part);
        let taken = look.plan.of(&block.id).all(|c| c.choice.id == choice.id);
        let why = match (wanted, taken) {
            (true, false) => format!(
                "The {} is kept whole with the {} on it, so the {} cannot be had beside it. Choose “{}”, or leave the {part} out",
                part, block.name, block.name, choice.name
            ),
            (false, true) => format!(
                "“{}” needs the {part}, and the {part} is not asked for. Ask for the {part} too, or choose another cut for the {}",
                choice.name, block.name
            ),
            _ => continue,
        };
        found.break_all(["H10"], &at(look.sheet, block), &why);
    }
}
