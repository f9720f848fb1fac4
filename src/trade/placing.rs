//! Which quarters of an animal are free for a share, and what a share's quarters mean on the carcass.
//!
//! A quarter is stored as a slot. Where fore and hind quarters are sold, 1 is the fore and 2 the hind of its side; a split
//! quarter may be either.

use super::carcass::Place;
use super::share::{Part, Side, Size};
use super::vocabulary::Slot;

/// A slot that is taken, and by what kind of share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// The quarter.
    pub slot: Slot,
    /// Size of the share that has it.
    pub size: Size,
    /// For a quarter, which part it is; `None` counts as split.
    pub part: Option<Part>,
}

/// One way a share can be put on an animal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Where it hangs.
    pub place: Place,
    /// The quarters it takes: four, two or one.
    pub slots: Vec<Slot>,
}

/// The two slots of a side.
pub const fn slots_of(side: Side) -> [Slot; 2] {
    match side {
        Side::Left => [Slot::L1, Slot::L2],
        Side::Right => [Slot::R1, Slot::R2],
    }
}

fn slot_of(side: Side, part: Part) -> Slot {
    let [first, second] = slots_of(side);
    if part == Part::Hind { second } else { first }
}

/// Every way a share can be put beside what is there, left side first; empty when there is no room. A side is offered once.
pub fn choices(taken: &[Taken], size: Size, part: Option<Part>) -> Vec<Choice> {
    let part = part.unwrap_or(Part::Split);
    match size {
        Size::Whole if taken.is_empty() => vec![Choice { place: Place::Whole, slots: Slot::ALL.to_vec() }],
        Size::Whole => Vec::new(),
        Size::Half => Side::ALL
            .iter()
            .filter(|side| !taken.iter().any(|t| t.slot.side() == **side))
            .map(|side| Choice { place: Place::Half(*side), slots: slots_of(*side).to_vec() })
            .collect(),
        Size::Quarter => Side::ALL
            .iter()
            .filter_map(|side| {
                let slot = free_quarter(taken, *side, part)?;
                Some(Choice { place: Place::Quarter(*side, part), slots: vec![slot] })
            })
            .collect(),
    }
}

fn free_quarter(taken: &[Taken], side: Side, part: Part) -> Option<Slot> {
    let on: Vec<&Taken> = taken.iter().filter(|t| t.slot.side() == side).collect();
    let splits = |t: &Taken| t.size == Size::Quarter && t.part.unwrap_or(Part::Split) == Part::Split;
    let wanted = match part {
        Part::Split => on.iter().all(|t| splits(t)).then(|| slots_of(side).to_vec())?,
        Part::Fore | Part::Hind => {
            on.iter().all(|t| t.size == Size::Quarter && !splits(t)).then(|| vec![slot_of(side, part)])?
        }
    };
    wanted.into_iter().find(|slot| !on.iter().any(|t| t.slot == *slot))
}

/// Where the slots of one share put it, for [`super::carcass::divide`]; `None` when they do not make up a share of that size.
pub fn place_of(slots: &[Slot], size: Size, part: Option<Part>) -> Option<Place> {
    let mut sorted = slots.to_vec();
    sorted.sort_unstable();
    match (size, sorted.as_slice()) {
        (Size::Whole, [Slot::L1, Slot::L2, Slot::R1, Slot::R2]) => Some(Place::Whole),
        (Size::Half, [Slot::L1, Slot::L2]) => Some(Place::Half(Side::Left)),
        (Size::Half, [Slot::R1, Slot::R2]) => Some(Place::Half(Side::Right)),
        (Size::Quarter, [slot]) => {
            let part = part.unwrap_or(Part::Split);
            let fits = part == Part::Split || slot_of(slot.side(), part) == *slot;
            fits.then_some(Place::Quarter(slot.side(), part))
        }
        _ => None,
    }
}

/// The quarters nobody has.
pub fn free_slots(taken: &[Taken]) -> Vec<Slot> {
    Slot::ALL.iter().copied().filter(|slot| !taken.iter().any(|t| t.slot == *slot)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const fn quarter(slot: Slot, part: Part) -> Taken {
        Taken { slot, size: Size::Quarter, part: Some(part) }
    }

    #[test]
    fn a_split_quarter_takes_what_is_free_beside_another() {
        let taken = [quarter(Slot::L2, Part::Split)];
        let found = choices(&taken, Size::Quarter, Some(Part::Split));
        assert_eq!(found.iter().map(|c| c.slots.clone()).collect::<Vec<_>>(), [vec![Slot::L1], vec![Slot::R1]]);
        assert_eq!(choices(&taken, Size::Half, None).first().unwrap().slots, [Slot::R1, Slot::R2]);
        assert!(choices(&taken, Size::Whole, None).is_empty());
        // Fore and hind never beside a split quarter.
        let fore = choices(&taken, Size::Quarter, Some(Part::Fore));
        assert_eq!(fore, [Choice { place: Place::Quarter(Side::Right, Part::Fore), slots: vec![Slot::R1] }]);
    }

    #[test]
    fn a_hind_quarter_takes_the_second_slot_beside_a_fore() {
        let taken = [quarter(Slot::L1, Part::Fore), quarter(Slot::R2, Part::Hind)];
        assert_eq!(choices(&taken, Size::Quarter, Some(Part::Hind)).first().unwrap().slots, [Slot::L2]);
        assert_eq!(choices(&taken, Size::Quarter, Some(Part::Fore)).first().unwrap().slots, [Slot::R1]);
        assert!(choices(&taken, Size::Quarter, None).is_empty());
        assert_eq!(free_slots(&taken), [Slot::L2, Slot::R1]);
    }

    #[test]
    fn slots_that_make_no_share_are_not_a_place() {
        assert_eq!(place_of(&[Slot::L2, Slot::L1], Size::Half, None), Some(Place::Half(Side::Left)));
        assert_eq!(place_of(&[Slot::L2, Slot::R1], Size::Half, None), None);
        assert_eq!(place_of(&[Slot::L1], Size::Quarter, Some(Part::Hind)), None);
        assert_eq!(place_of(&[], Size::Whole, None), None);
    }

    proptest! {
        /// Whatever is offered also fits by the carcass's own rule, and the other way round.
        #[test]
        fn choices_agree_with_the_carcass(wanted in prop::collection::vec((0_usize..5, any::<bool>()), 0..8)) {
            let kinds = [(Size::Whole, None), (Size::Half, None), (Size::Quarter, Some(Part::Split)), (Size::Quarter, Some(Part::Fore)), (Size::Quarter, Some(Part::Hind))];
            let mut taken: Vec<Taken> = Vec::new();
            let mut places: Vec<Place> = Vec::new();
            for (kind, last) in wanted {
                for (size, part) in kinds {
                    let offered: Vec<_> = choices(&taken, size, part).into_iter().map(|c| c.place).collect();
                    let all: Vec<_> = match size {
                        Size::Whole => vec![Place::Whole],
                        Size::Half => Side::ALL.iter().map(|s| Place::Half(*s)).collect(),
                        Size::Quarter => Side::ALL.iter().map(|s| Place::Quarter(*s, part.unwrap())).collect(),
                    };
                    let fitting: Vec<_> = all.into_iter().filter(|p| p.fits_beside(&places)).collect();
                    prop_assert_eq!(offered, fitting);
                }
                let (size, part) = kinds[kind];
                let found = choices(&taken, size, part);
                if let Some(choice) = if last { found.last() } else { found.first() } {
                    prop_assert_eq!(place_of(&choice.slots, size, part), Some(choice.place));
                    taken.extend(choice.slots.iter().map(|slot| Taken { slot: *slot, size, part }));
                    places.push(choice.place);
                }
            }
        }
    }
}
