//! What is lost at least from a state on: every block by itself picks the best of the shares still to come.
//!
//! Each reservation has a price for being taken care of; a block earns it by taking the reservation. Several blocks may
//! earn the same price, which is why this is a bound and no plan (Lagrangian relaxation). With the shadow prices of the
//! transport problem it is never weaker than that problem itself, and stronger where shares must be whole. (Mending the prices by subgradient steps was tried: it did not sharpen the bound on
//! any farm it was measured on.)
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::closing;
use super::cost::Cost;
use super::model::Model;
use super::part::{Part, Way};
use super::prices::Prices;
use super::room::Room;

/// The bound.
#[derive(Debug)]
pub(super) struct Outlook {
    blocks: Vec<Earnings>,
    /// From each item on, the sum of the prices (or of what leaving out loses where that is less).
    rest: Vec<i128>,
}

/// One block: by item and room, the least it loses with the items from there on, prices earned.
#[derive(Debug)]
struct Earnings {
    /// Rooms that are told apart: animals, sides, quarters; the first two are 1 when only quarters are counted.
    sizes: [usize; 3],
    /// By item: the row that holds from it on.
    row: Vec<u32>,
    values: Vec<Cost>,
}

/// Blocks with more kinds of room than this are looked at by quarters only.
const MOST_ROOMS: usize = 3000;

impl Earnings {
    const fn cells(&self) -> usize {
        self.sizes[0] * self.sizes[1] * self.sizes[2]
    }
    fn cell(&self, room: Room) -> usize {
        let [a, s, q] = [room.animals, room.sides, room.quarters].map(usize::from);
        let (a, s) = (a.min(self.sizes[0] - 1), s.min(self.sizes[1] - 1));
        (a * self.sizes[1] + s) * self.sizes[2] + q
    }
    fn room(&self, cell: usize) -> Room {
        let q = cell % self.sizes[2];
        let s = cell / self.sizes[2] % self.sizes[1];
        let a = cell / self.sizes[2] / self.sizes[1];
        Room { animals: a as u16, sides: s as u16, quarters: q as u16 }
    }
    fn less(&self, room: Room, quarters: u8) -> Option<Room> {
        if self.sizes[1] == 1 {
            let left = room.quarters.checked_sub(u16::from(quarters))?;
            return Some(Room { quarters: left, ..room });
        }
        room.less(quarters)
    }
    fn of(model: &Model, part: &Part, b: usize, prices: &[i128], room: Room) -> Self {
        let closing = closing::table(model, &part.blocks[b]);
        let mut sizes = [room.animals, room.sides, room.quarters].map(|n| usize::from(n) + 1);
        if sizes.iter().product::<usize>() > MOST_ROOMS {
            sizes = [1, 1, sizes[2]];
        }
        let mut earnings = Self { sizes, row: vec![0; part.items.len() + 1], values: Vec::new() };
        let cells = earnings.cells();
        // Made from the last item backwards; row 0 is what is lost when nothing more comes.
        for cell in 0..cells {
            let used = room.quarters - earnings.room(cell).quarters;
            earnings.values.push(closing.get(usize::from(used)).copied().unwrap_or(Cost::NEVER));
        }
        let mut rows = 0_u32;
        for k in (0..part.items.len()).rev() {
            let here = |way: Way| way == Way::In(b) || way == Way::Stay(b);
            let cheapest = part.choices[k].iter().filter(|c| here(c.way)).map(|c| c.cost).min();
            if let Some(cost) = cheapest {
                let gain = Cost { hi: cost.hi - prices[k], ..cost };
                let quarters = model.wants[part.items[k]].quarters;
                let base = rows as usize * cells;
                for cell in 0..cells {
                    let without = earnings.values[base + cell];
                    let with = earnings
                        .less(earnings.room(cell), quarters)
                        .map(|left| earnings.values[base + earnings.cell(left)])
                        .filter(|rest| !rest.is_never())
                        .map_or(without, |rest| rest + gain);
                    earnings.values.push(without.min(with));
                }
                rows += 1;
            }
            earnings.row[k] = rows;
        }
        earnings
    }
    fn value(&self, k: usize, room: Room) -> Cost {
        self.values[self.row[k] as usize * self.cells() + self.cell(room)]
    }
}

impl Outlook {
    pub(super) fn of(model: &Model, part: &Part, rooms: &[Room]) -> Self {
        let prices = Prices::of(model, part, rooms);
        let prices = prices.of_items();
        let blocks = rooms.iter().enumerate().map(|(b, room)| Earnings::of(model, part, b, prices, *room)).collect();
        let mut rest = vec![0; prices.len() + 1];
        for k in (0..prices.len()).rev() {
            let out = part.choices[k].iter().find(|c| c.way == Way::Out).map(|c| c.cost.hi);
            rest[k] = rest[k + 1] + out.map_or(prices[k], |out| out.min(prices[k]));
        }
        Self { blocks, rest }
    }

    /// The least that is lost from item `k` on, given the room that is left on each block.
    pub(super) fn bound(&self, k: usize, rooms: impl Iterator<Item = Room>) -> Cost {
        let mut sum = Cost { hi: self.rest[k], ..Cost::ZERO };
        for (block, room) in self.blocks.iter().zip(rooms) {
            let value = block.value(k, room);
            if value.is_never() {
                return Cost::NEVER;
            }
            sum += value;
        }
        sum
    }

    /// How much there is in it, for counting work.
    pub(super) fn size(&self) -> u64 {
        self.blocks.iter().map(|block| block.values.len() as u64).sum()
    }
}
