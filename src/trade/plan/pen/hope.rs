//! What a half-filled block must lose at least in the end.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::super::cost::Cost;
use super::{Ask, Pen};

impl Pen<'_> {
    /// The least that is lost in the end, from what is placed and how much is still to come.
    pub(super) fn bound(&self, k: usize) -> Cost {
        let so_far = self.so_far + Cost::weight(self.still_outside(k));
        if self.ask == Ask::Floor {
            return so_far;
        }
        let (need, singles) = self.needs[k];
        let rest = i64::from(need.quarters);
        let (mut begun, mut other, mut empty, mut opened, mut ready, mut half) =
            (0_i64, 0_i64, 0_i64, 0_i64, 0_i64, 0_i64);
        for ((head, room), put) in self.heads.iter().zip(&self.room).zip(&self.put) {
            let free = i64::from(room[0] + room[1]);
            match head.custom {
                true if *put > 0 || head.held != [0, 0] => begun += free,
                true => empty += 1,
                false => other += free,
            }
            opened += i64::from(!head.stands && *put > 0);
            if head.stands || *put > 0 {
                ready += free;
            }
            half += room.iter().map(|side| i64::from(*side == 1)).sum::<i64>();
        }
        let fresh = if rest > ready { (rest - ready + 3) / 4 } else { 0 };
        let singles = i64::from(singles);
        let half = if half > singles { half - singles } else { (singles - half) % 2 };
        so_far + Cost::unsold(unsold(rest, begun, other, empty)) + Cost::opened(opened + fresh) + Cost::half(half)
    }

    /// The least distance that guests still to come must add, each by itself, in the room that is left.
    fn still_outside(&self, k: usize) -> i64 {
        let least = |j: &usize| {
            let guest = self.guests[*j];
            let want = &self.model.wants[guest.want];
            let fits = |room: &[u8; 2]| match want.quarters {
                4 => *room == [2, 2],
                2 => room[0] == 2 || room[1] == 2,
                _ => *room != [0, 0],
            };
            let open = self.room.iter().zip(self.names).filter(|(room, _)| fits(room));
            open.map(|(_, name)| want.outside[*name] - self.counted[*j]).min().unwrap_or(0)
        };
        self.weighed[self.weighed.partition_point(|j| *j < k)..].iter().map(least).sum()
    }
}

/// The least unsold quarters on custom-exempt animals: `rest` quarters still come, `begun` are free on those that carry
/// something, `other` on animals of other plants, and `empty` more custom-exempt animals of four quarters can be begun.
fn unsold(rest: i64, begun: i64, other: i64, empty: i64) -> i64 {
    let mut least = begun + rest;
    for onto_begun in 0..=begun.min(rest) {
        let left = rest - onto_begun;
        let (low, high) = ((left - other).max(0), left.min(4 * empty));
        if low > high {
            continue;
        }
        // A full animal leaves nothing unsold; else the fuller the last one the better.
        let over = if high / 4 * 4 >= low { 0 } else { 4 - high % 4 };
        least = least.min(begun - onto_begun + over);
    }
    least
}
