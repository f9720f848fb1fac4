//! States of one layer, each once: short rows of numbers in one list, found by their hash.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

/// Rows of one width.
#[derive(Debug, Default)]
pub(super) struct Table {
    width: usize,
    rows: Vec<u16>,
    count: usize,
    /// Places by hash, one more than the row; 0 is empty. Its length is a power of two.
    slots: Vec<u32>,
}

impl Table {
    pub(super) fn new(width: usize) -> Self {
        Self { width, rows: Vec::new(), count: 0, slots: vec![0; 64] }
    }
    pub(super) const fn width(&self) -> usize {
        self.width
    }
    pub(super) fn state(&self, place: usize) -> &[u16] {
        &self.rows[place * self.width..(place + 1) * self.width]
    }
    /// The place of a row; it is put at the end when it is new.
    pub(super) fn place(&mut self, row: &[u16]) -> usize {
        if self.count * 2 >= self.slots.len() {
            self.grow();
        }
        let mask = self.slots.len() - 1;
        let mut at = hash(row) as usize & mask;
        loop {
            match self.slots[at] {
                0 => {
                    self.rows.extend_from_slice(row);
                    self.count += 1;
                    self.slots[at] = self.count as u32;
                    return self.count - 1;
                }
                taken if self.state(taken as usize - 1) == row => return taken as usize - 1,
                _ => at = (at + 1) & mask,
            }
        }
    }
    fn grow(&mut self) {
        let size = self.slots.len() * 4;
        let mut slots = vec![0_u32; size];
        for place in 0..self.count {
            let mut at = hash(self.state(place)) as usize & (size - 1);
            while slots[at] != 0 {
                at = (at + 1) & (size - 1);
            }
            slots[at] = place as u32 + 1;
        }
        self.slots = slots;
    }
}

fn hash(row: &[u16]) -> u64 {
    let mut h = 0xcbf2_9ce4_8422_2325_u64;
    for n in row {
        h = (h.rotate_left(5) ^ u64::from(*n)).wrapping_mul(0x517c_c1b7_2722_0a95);
    }
    h ^ (h >> 29)
}
