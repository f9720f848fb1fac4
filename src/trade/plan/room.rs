//! Room on a date, counted by the structure 4 / 2 / 1: a share fits exactly when the counts say so.

use super::model::Model;
use super::part::Block;

/// What more can be put on a block. Shares of 4, 2 and 1 quarters fit exactly when no count falls below zero: a whole
/// takes one animal, two sides and four quarters, a half one side and two quarters, a quarter one quarter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(super) struct Room {
    /// Wholly free animals, less wholes put in.
    pub(super) animals: u16,
    /// Free sides, less those of wholes and halves put in.
    pub(super) sides: u16,
    /// Free quarters, less all put in.
    pub(super) quarters: u16,
}

impl Room {
    pub(super) fn of(model: &Model, block: &Block) -> Self {
        let mut room = Self::default();
        for free in block.heads.iter().filter_map(|h| model.beasts.get(*h)).map(super::model::Beast::room) {
            room.add(free);
        }
        room
    }
    /// Counts an animal's free quarters in.
    pub(super) fn add(&mut self, [left, right]: [u8; 2]) {
        self.animals += u16::from(left == 2 && right == 2);
        self.sides += u16::from(left == 2) + u16::from(right == 2);
        self.quarters += u16::from(left + right);
    }
    /// Puts a share in anywhere; `None` when there is no room.
    pub(super) fn less(self, quarters: u8) -> Option<Self> {
        let (animals, sides) = match quarters {
            4 => (1, 2),
            2 => (0, 1),
            _ => (0, 0),
        };
        Some(Self {
            animals: self.animals.checked_sub(animals)?,
            sides: self.sides.checked_sub(sides)?,
            quarters: self.quarters.checked_sub(u16::from(quarters))?,
        })
    }
    /// An animal's room shrinks from `before` to `after`; `None` when what was put in no longer fits.
    pub(super) fn shrink(self, before: [u8; 2], after: [u8; 2]) -> Option<Self> {
        let (mut b, mut a) = (Self::default(), Self::default());
        b.add(before);
        a.add(after);
        Some(Self {
            animals: self.animals.checked_sub(b.animals - a.animals)?,
            sides: self.sides.checked_sub(b.sides - a.sides)?,
            quarters: self.quarters.checked_sub(b.quarters - a.quarters)?,
        })
    }
    /// Forgets what can no longer matter, so that states that are worth the same are the same.
    pub(super) fn tidy(self) -> Self {
        let sides = self.sides.min(self.quarters / 2);
        Self { animals: self.animals.min(sides / 2), sides, quarters: self.quarters }
    }
}
