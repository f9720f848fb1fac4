//! Every plan of a tiny problem, gone through one by one.

use gambrel::trade::plan::{Problem, Score, Sides, Spot, broken, score};
use gambrel::trade::share::Size;
use std::cmp::Ordering;

/// The best plan, the first among equals, by trying them all in that order. `None` when there are more than `most`.
pub fn best(problem: &Problem, most: u64) -> Option<(Score, Vec<Option<Spot>>)> {
    let mut tries = Tries { problem, best: None, places: Vec::new(), left: most };
    let mut filled: Vec<[u8; 2]> = problem.heads.iter().map(|h| h.taken).collect();
    tries.go(&mut filled);
    if tries.left == 0 { None } else { tries.best }
}

struct Tries<'a> {
    problem: &'a Problem,
    best: Option<(Score, Vec<Option<Spot>>)>,
    places: Vec<Option<Spot>>,
    left: u64,
}

impl Tries<'_> {
    fn go(&mut self, filled: &mut Vec<[u8; 2]>) {
        let i = self.places.len();
        if self.left == 0 {
            return;
        }
        if i == self.problem.orders.len() {
            self.left -= 1;
            if broken(self.problem, &self.places).is_empty() {
                let worth = score(self.problem, &self.places);
                // Strictly better only: the order of trying is the order among equals.
                if self.best.as_ref().is_none_or(|(old, _)| worth.against(old) == Ordering::Less) {
                    self.best = Some((worth, self.places.clone()));
                }
            }
            return;
        }
        let order = &self.problem.orders[i];
        for head in 0..self.problem.heads.len() {
            let ways: &[Sides] = if order.size == Size::Whole { &[Sides::Both] } else { &[Sides::Left, Sides::Right] };
            for sides in ways {
                let [l, r] = sides.quarters(order.size).unwrap();
                let on = filled[head];
                if self.problem.heads[head].species != order.species || on[0] + l > 2 || on[1] + r > 2 {
                    continue;
                }
                filled[head] = [on[0] + l, on[1] + r];
                self.places.push(Some(Spot { head, sides: *sides }));
                self.go(filled);
                self.places.pop();
                filled[head] = on;
            }
        }
        self.places.push(None);
        self.go(filled);
        self.places.pop();
    }
}
