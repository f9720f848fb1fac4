//! The states between the layers: how a choice changes one, what of it matters, and what is lost from it on at least.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::closing;
use super::cost::Cost;
use super::layers::{Layers, Step};
use super::model::{Model, takes};
use super::outlook::Outlook;
use super::part::{Part, Way};
use super::room::Room;
use std::collections::HashMap;

/// What does not change while layers are made.
pub(super) struct Ground<'a> {
    model: &'a Model,
    pub(super) part: &'a Part,
    outlook: Outlook,
    rooms: Vec<Room>,
    closing: Vec<Vec<Cost>>,
    /// By item and block: whether some item from there on may still stay on the block.
    stays_after: Vec<Vec<bool>>,
    /// By item and block: the largest share from there on that may come onto the block.
    largest_after: Vec<Vec<u8>>,
    /// By item: whether its band has a member after it.
    band_goes_on: Vec<bool>,
    /// By item: the place of its animal in the state and whether it is used after it, when several may stay there.
    lair: Vec<Option<(usize, bool)>>,
    lairs: usize,
    guide: Option<Guide<'a>>,
}

/// Layers of the same items with only dates to decide. A state carries along where it is in them: what is lost from there
/// on is a bound, and where they do not go the state need not go either.
pub(super) struct Guide<'a> {
    layers: &'a Layers,
    /// By item and choice: the choice of the guide.
    choices: Vec<Vec<u16>>,
}

impl<'a> Guide<'a> {
    /// `dates` is what [`Part::dates_only`] makes of `part`, and `layers` are its layers, all of them.
    pub(super) fn new(part: &Part, dates: &Part, layers: &'a Layers) -> Self {
        let same = |k: usize, way: Way| {
            let way = if let Way::Stay(b) = way { Way::In(b) } else { way };
            dates.choices[k].iter().position(|c| c.way == way).unwrap_or(0) as u16
        };
        let choices = (0..part.items.len()).map(|k| part.choices[k].iter().map(|c| same(k, c.way)).collect());
        Self { layers, choices: choices.collect() }
    }
    fn step(&self, k: usize, state: u32, choice: usize) -> Option<u32> {
        let wanted = self.choices[k][choice];
        let to = self.layers.steps(k, state).find(|step| step.choice == wanted)?.to;
        (!self.layers.rest(k + 1, to).is_never()).then_some(to)
    }
}

const FAILED: u16 = u16::MAX;

impl<'a> Ground<'a> {
    pub(super) fn new(model: &'a Model, part: &'a Part, guide: Option<Guide<'a>>) -> Self {
        let rooms: Vec<Room> = part.blocks.iter().map(|b| Room::of(model, b)).collect();
        let outlook = Outlook::of(model, part, &rooms);
        let (items, blocks) = (part.items.len(), part.blocks.len());
        let mut stays_after = vec![vec![false; blocks]; items + 1];
        let mut largest_after = vec![vec![0; blocks]; items + 1];
        for k in (0..items).rev() {
            stays_after[k] = stays_after[k + 1].clone();
            largest_after[k] = largest_after[k + 1].clone();
            for choice in &part.choices[k] {
                match choice.way {
                    Way::Stay(b) => stays_after[k][b] = true,
                    Way::In(b) => largest_after[k][b] = largest_after[k][b].max(model.wants[part.items[k]].quarters),
                    Way::Out => {}
                }
            }
        }
        let band_goes_on = (0..items)
            .map(|k| part.band_of[k].is_some_and(|band| part.band_of[k + 1..].contains(&Some(band))))
            .collect();
        let stay_head = |k: usize| {
            let stays = part.choices[k].iter().any(|c| matches!(c.way, Way::Stay(_)));
            model.wants[part.items[k]].stay.filter(|_| stays).map(|s| s.head)
        };
        let heads: Vec<Option<usize>> = (0..items).map(stay_head).collect();
        let mut places: HashMap<usize, usize> = HashMap::new();
        let lair = (0..items)
            .map(|k| {
                let head = heads[k]?;
                if heads.iter().filter(|h| **h == Some(head)).count() < 2 {
                    return None;
                }
                let next = places.len();
                Some((*places.entry(head).or_insert(next), heads[k + 1..].contains(&Some(head))))
            })
            .collect();
        let closing = part.blocks.iter().map(|b| closing::table(model, b)).collect();
        let lairs = places.len();
        Self { model, part, outlook, rooms, closing, stays_after, largest_after, band_goes_on, lair, lairs, guide }
    }

    /// What it took to make this, in units of work.
    pub(super) fn effort(&self) -> u64 {
        self.outlook.size() / 16 + (self.part.items.len() * self.part.items.len()) as u64
    }

    pub(super) fn width(&self) -> usize {
        3 * self.part.blocks.len() + self.part.bands.len() + self.lairs + 2
    }

    fn room(state: &[u16], b: usize) -> Room {
        Room { animals: state[3 * b], sides: state[3 * b + 1], quarters: state[3 * b + 2] }
    }

    fn set_room(state: &mut [u16], b: usize, room: Room) {
        state[3 * b] = room.animals;
        state[3 * b + 1] = room.sides;
        state[3 * b + 2] = room.quarters;
    }

    pub(super) fn start(&self) -> Vec<u16> {
        let mut state = vec![0; self.width()];
        for (b, room) in self.rooms.iter().enumerate() {
            Self::set_room(&mut state, b, *room);
        }
        for (place, band) in self.part.bands.iter().enumerate() {
            let dates = band.fixed.map_or(0, |date| date as u16 + 1);
            state[3 * self.part.blocks.len() + place] = dates;
        }
        self.tidy(0, &mut state);
        state
    }

    /// Forgets of a state before item `k` what no longer matters.
    fn tidy(&self, k: usize, state: &mut [u16]) {
        for b in 0..self.part.blocks.len() {
            if self.stays_after[k][b] {
                continue;
            }
            let mut room = Self::room(state, b).tidy();
            if self.largest_after[k][b] < 4 {
                room.animals = 0;
            }
            if self.largest_after[k][b] < 2 {
                room.sides = 0;
            }
            Self::set_room(state, b, room);
        }
    }

    /// Where a state is in the guide.
    fn guided(state: &[u16]) -> u32 {
        let [.., high, low] = state else { return 0 };
        u32::from(*high) << 16 | u32::from(*low)
    }

    /// Takes a choice in `state` (before item `k`), which becomes the state after it. Says whether it breaks a group;
    /// `None` when there is no room.
    pub(super) fn take(&self, k: usize, choice: usize, state: &mut [u16]) -> Option<bool> {
        if let Some(guide) = &self.guide {
            let to = guide.step(k, Self::guided(state), choice)?;
            if let [.., high, low] = state {
                (*high, *low) = ((to >> 16) as u16, to as u16);
            }
        }
        let way = self.part.choices[k][choice].way;
        let want = &self.model.wants[self.part.items[k]];
        let blocks = self.part.blocks.len();
        match way {
            Way::Out => {}
            Way::In(b) => {
                let room = Self::room(state, b).less(want.quarters)?;
                Self::set_room(state, b, room);
            }
            Way::Stay(b) => {
                let spot = want.stay?;
                let mut before = self.model.beasts[spot.head].room();
                let add = takes(want.quarters, spot.sides);
                if let Some((lair, _)) = self.lair[k] {
                    let slot = &mut state[3 * blocks + self.part.bands.len() + lair];
                    before = [before[0].checked_sub((*slot % 3) as u8)?, before[1].checked_sub((*slot / 3) as u8)?];
                    *slot += u16::from(add[0]) + 3 * u16::from(add[1]);
                }
                let after = [before[0].checked_sub(add[0])?, before[1].checked_sub(add[1])?];
                let room = Self::room(state, b).shrink(before, after)?;
                Self::set_room(state, b, room);
            }
        }
        if let Some((lair, false)) = self.lair[k] {
            state[3 * blocks + self.part.bands.len() + lair] = 0;
        }
        let mut breaks = false;
        if let Some(band) = self.part.band_of[k] {
            let slot = &mut state[3 * blocks + band];
            if *slot != FAILED {
                let date = match way {
                    Way::In(b) | Way::Stay(b) if self.part.bands[band].fits[b] => {
                        Some(self.part.blocks[b].date as u16 + 1)
                    }
                    _ => None,
                };
                breaks = date.is_none() || (*slot != 0 && Some(*slot) != date);
                *slot = if breaks { FAILED } else { date.unwrap_or(FAILED) };
            }
            if !self.band_goes_on[k] {
                *slot = 0;
            }
        }
        self.tidy(k + 1, state);
        Some(breaks)
    }

    pub(super) fn bound(&self, k: usize, state: &[u16]) -> Cost {
        if let Some(guide) = &self.guide {
            return guide.layers.rest(k, Self::guided(state));
        }
        let rooms = (0..self.part.blocks.len()).map(|b| Self::room(state, b));
        self.outlook.bound(k, rooms)
    }

    /// The least that the fill of the animals loses at the end.
    pub(super) fn close(&self, state: &[u16]) -> Cost {
        let mut sum = Cost::ZERO;
        for (b, table) in self.closing.iter().enumerate() {
            let used = self.rooms[b].quarters - Self::room(state, b).quarters;
            let cost = table.get(usize::from(used)).copied().unwrap_or(Cost::NEVER);
            if cost.is_never() {
                return Cost::NEVER;
            }
            sum += cost;
        }
        sum
    }

    /// What a step loses.
    pub(super) fn loss(&self, k: usize, step: Step) -> Cost {
        self.part.choices[k][usize::from(step.choice)].cost + Cost::groups(i64::from(step.breaks))
    }
    pub(super) fn way(&self, k: usize, step: Step) -> Way {
        self.part.choices[k][usize::from(step.choice)].way
    }
}
