//! Problems made up at random, the same for the same seed.

use chrono::NaiveDate;
use gambrel::trade::plan::{Head, Order, Problem, SheetDifference, Sides, Spot, Standing};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::weight::Weight;

/// SplitMix64 (Steele, Lea, Flood 2014; from memory): good enough to make up farms.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
    pub fn in_hundred(&mut self, n: usize) -> bool {
        self.below(100) < n
    }
}

/// What kind of farm is made up. Shares are in per cent.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    pub heads: usize,
    pub orders: usize,
    pub species: usize,
    pub dates: usize,
    pub custom: usize,
    pub taken: usize,
    pub barred: usize,
    pub grouped: usize,
    pub ranged: usize,
    pub standing: usize,
    pub locked: usize,
    pub any_date: usize,
    pub paid: usize,
    pub pairs: usize,
    /// Whether a processor has its dates, so that all of a date are custom-exempt or none.
    pub plants: bool,
}

fn day(n: usize) -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 9, 6).unwrap() + chrono::Days::new(14 * n as u64)
}

pub fn problem(kind: Kind, dice: &mut Dice) -> Problem {
    let plants: Vec<bool> = (0..kind.dates.max(1)).map(|_| dice.in_hundred(kind.custom)).collect();
    let hanging: [[usize; 2]; 4] = [[600, 850], [150, 210], [45, 70], [35, 60]];
    let heads: Vec<Head> = (0..kind.heads)
        .map(|i| {
            let species = dice.below(kind.species);
            let date = dice.below(kind.dates);
            let [low, high] = hanging[species];
            let weight = (low + dice.below(high - low)) as i64 * 100 + dice.below(4) as i64 * 25;
            let mut taken = [0, 0];
            if dice.in_hundred(kind.taken) {
                taken[dice.below(2)] = 1 + dice.below(2) as u8;
            }
            Head {
                id: format!("A{i}"),
                species: Species::ALL[species],
                date: day(date),
                processor: format!("P{}", date % 3),
                custom_exempt: if kind.plants { plants[date] } else { dice.in_hundred(kind.custom) },
                not_before: if dice.in_hundred(kind.barred) {
                    Some(day(date) + chrono::Days::new(3))
                } else if dice.in_hundred(20) {
                    Some(day(date) - chrono::Days::new(10))
                } else {
                    None
                },
                hanging: (!dice.in_hundred(10)).then(|| Weight::from_hundredths(weight)),
                taken,
            }
        })
        .collect();
    let mut filled: Vec<[u8; 2]> = heads.iter().map(|h| h.taken).collect();
    let mut orders: Vec<Order> = Vec::new();
    let mut team = 0;
    for i in 0..kind.orders {
        let species = Species::ALL[dice.below(kind.species)];
        let size = [Size::Whole, Size::Half, Size::Half, Size::Quarter, Size::Quarter, Size::Quarter][dice.below(6)];
        let mut dates: Vec<NaiveDate> = Vec::new();
        if !dice.in_hundred(kind.any_date) {
            let first = dice.below(kind.dates);
            for n in 0..1 + dice.below(3) {
                let date = day((first + n * (1 + dice.below(2))) % kind.dates);
                if !dates.contains(&date) {
                    dates.push(date);
                }
            }
        }
        let together = dice.in_hundred(kind.grouped).then(|| {
            if team == 0 || dice.in_hundred(45) {
                team += 1;
            }
            format!("g{team}")
        });
        let asked = if dice.in_hundred(kind.ranged) {
            let [low, high] = hanging[species as usize];
            let low = ((low + dice.below(high - low)) as i64 * size.quarters() * 25).max(1);
            let wide = low / 12;
            let end = |open: bool, n: i64| (!open).then(|| Weight::from_hundredths(n));
            (end(dice.in_hundred(20), low), end(dice.in_hundred(20), low + wide))
        } else {
            (None, None)
        };
        let mut order = Order {
            id: format!("R{i}"),
            species,
            size,
            taken_at: 1_800_000_000 + 3600 * dice.below(kind.orders * 2 + 1) as i64,
            deposit_paid: dice.in_hundred(kind.paid),
            dates,
            together,
            asked,
            current: None,
        };
        if dice.in_hundred(kind.standing) {
            stand(kind, dice, &heads, &mut filled, &mut order);
        }
        orders.push(order);
    }
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for _ in 0..kind.orders * kind.pairs / 100 {
        let (a, b) = (dice.below(kind.orders), dice.below(kind.orders));
        if a != b && !pairs.contains(&(a, b)) && !pairs.contains(&(b, a)) {
            pairs.push((a, b));
        }
    }
    let sheet_differences =
        pairs.into_iter().map(|(a, b)| SheetDifference { a, b, blocks: dice.below(5) as u16 }).collect();
    let keep = dice.in_hundred(60);
    let open_custom_from = if dice.in_hundred(60) { 1 } else { 1 + dice.below(4) as u8 };
    Problem { heads, orders, sheet_differences, keep, open_custom_from }
}

/// Puts an order where there is room; now and then one that is not locked where it cannot stay.
fn stand(kind: Kind, dice: &mut Dice, heads: &[Head], filled: &mut [[u8; 2]], order: &mut Order) {
    if heads.is_empty() {
        return;
    }
    for _ in 0..8 {
        let head = dice.below(heads.len());
        let sides = match order.size {
            Size::Whole => Sides::Both,
            _ => [Sides::Left, Sides::Right][dice.below(2)],
        };
        let Some([l, r]) = sides.quarters(order.size) else { return };
        let on = filled[head];
        let fits = heads[head].species == order.species && on[0] + l <= 2 && on[1] + r <= 2;
        let locked = dice.in_hundred(kind.locked);
        let suits = order.dates.is_empty() || order.dates.contains(&heads[head].date);
        if fits && (suits || dice.in_hundred(10)) {
            filled[head] = [on[0] + l, on[1] + r];
            order.current = Some(Standing { spot: Spot { head, sides }, locked });
            return;
        }
        if !locked && dice.in_hundred(4) {
            order.current = Some(Standing { spot: Spot { head, sides }, locked: false });
            return;
        }
    }
}
