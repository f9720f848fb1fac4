//! Which head goes on which date: most head first, then the fewest days away from their targets.
//!
//! An assignment problem, solved exactly: head are put in one after the other, each by the cheapest chain of moves that ends in
//! a free slot (or leaves one head without a date), which keeps the whole the cheapest at every step. Equal chains: the one found
//! first, with dates in the order given; so the answer is the same every time.

use super::{EARLY, LATE};
use chrono::NaiveDate;

/// A head that has no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The day its weight reaches the target.
    pub ready_on: NaiveDate,
    /// The first day it may be killed, when a withdrawal period bars it.
    pub not_before: Option<NaiveDate>,
}

/// A booked date with the slots that are free for this species.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slots {
    /// The day of slaughter.
    pub day: NaiveDate,
    /// Head it has room for.
    pub free: usize,
}

/// Days a date is away from a head's target; `None` when it may not go there.
pub fn away(head: &Head, day: NaiveDate) -> Option<i64> {
    if head.not_before.is_some_and(|first| day < first) {
        return None;
    }
    let days = (day - head.ready_on).num_days();
    (-EARLY..=LATE).contains(&days).then(|| days.saturating_abs())
}

/// More than any sum of days can be: a head without a date costs this.
const NOWHERE: i64 = 1_000_000;

/// For each head the place of its date in `dates`, `None` when no date fits.
pub fn assign(heads: &[Head], dates: &[Slots]) -> Vec<Option<usize>> {
    let nowhere = dates.len();
    let cost = |head: usize, at: usize| -> Option<i64> {
        if at == nowhere { Some(NOWHERE) } else { away(heads.get(head)?, dates.get(at)?.day) }
    };
    let mut on: Vec<Vec<usize>> = vec![Vec::new(); nowhere.saturating_add(1)];
    for head in 0..heads.len() {
        // The cheapest way to each date: what it costs, and the date and head of the move that leads there.
        let mut best: Vec<Option<(i64, Option<(usize, usize)>)>> =
            (0..=nowhere).map(|at| cost(head, at).map(|days| (days, None))).collect();
        for _ in 0..=nowhere {
            let mut better = false;
            for from in 0..=nowhere {
                let Some((so_far, _)) = best.get(from).copied().flatten() else { continue };
                for moved in on.get(from).into_iter().flatten() {
                    let Some(leaves) = cost(*moved, from) else { continue };
                    for to in (0..=nowhere).filter(|to| *to != from) {
                        let Some(comes) = cost(*moved, to) else { continue };
                        let total = so_far - leaves + comes;
                        let Some(slot) = best.get_mut(to) else { continue };
                        if slot.is_none_or(|(known, _)| total < known) {
                            *slot = Some((total, Some((from, *moved))));
                            better = true;
                        }
                    }
                }
            }
            if !better {
                break;
            }
        }
        let has_room = |at: usize| {
            at == nowhere || dates.get(at).is_some_and(|d| on.get(at).is_some_and(|there| there.len() < d.free))
        };
        let end = (0..=nowhere)
            .filter(|at| has_room(*at))
            .filter_map(|at| best.get(at).copied().flatten().map(|(total, _)| (total, at)))
            .min();
        let Some((_, mut at)) = end else { continue };
        // Back along the chain: each date takes the head that comes, and gives up the one that moved on.
        while let Some((_, Some((from, moved)))) = best.get(at).copied().flatten() {
            if let Some(there) = on.get_mut(from) {
                there.retain(|h| *h != moved);
            }
            if let Some(there) = on.get_mut(at) {
                there.push(moved);
            }
            at = from;
        }
        if let Some(there) = on.get_mut(at) {
            there.push(head);
        }
    }
    let mut found = vec![None; heads.len()];
    for (at, there) in on.iter().enumerate().take(nowhere) {
        for head in there {
            if let Some(slot) = found.get_mut(*head) {
                *slot = Some(at);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn on(n: i64) -> NaiveDate {
        "2027-09-01".parse::<NaiveDate>().unwrap() + chrono::TimeDelta::days(n)
    }

    /// Every way there is: most head, then fewest days.
    fn brute(heads: &[Head], dates: &[Slots], free: &mut Vec<usize>) -> (usize, i64) {
        let Some((first, rest)) = heads.split_first() else { return (0, 0) };
        let mut best = brute(rest, dates, free);
        for at in 0..dates.len() {
            if free[at] > 0
                && let Some(days) = away(first, dates[at].day)
            {
                free[at] -= 1;
                let (n, sum) = brute(rest, dates, free);
                free[at] += 1;
                if (n + 1, -(sum + days)) > (best.0, -best.1) {
                    best = (n + 1, sum + days);
                }
            }
        }
        best
    }

    fn head(ready: i64, bar: Option<i64>) -> Head {
        Head { ready_on: on(ready), not_before: bar.map(on) }
    }

    #[test]
    fn a_head_moves_on_so_that_another_can_go_at_all() {
        let dates = [Slots { day: on(0), free: 1 }, Slots { day: on(30), free: 1 }];
        // Both like the first date; the second head may go only there.
        let heads = [head(0, None), head(-60, None)];
        assert_eq!(assign(&heads, &dates), [Some(1), Some(0)]);
        assert_eq!(assign(&[head(0, Some(1))], &dates), [Some(1)], "never inside a withdrawal period");
        assert_eq!(assign(&[head(200, None)], &dates), [None], "too early for it");
        assert_eq!(assign(&heads, &[]), [None, None]);
    }

    proptest! {
        #[test]
        fn it_is_the_best_there_is_and_keeps_every_bar(
            heads in prop::collection::vec((-100_i64..150, prop::option::of(-20_i64..120)), 0..6),
            dates in prop::collection::vec((-10_i64..120, 0_usize..3), 0..4),
        ) {
            let heads: Vec<_> = heads.into_iter().map(|(ready, bar)| head(ready, bar)).collect();
            let dates: Vec<_> = dates.into_iter().map(|(day, free)| Slots { day: on(day), free }).collect();
            let found = assign(&heads, &dates);
            prop_assert_eq!(&found, &assign(&heads, &dates));
            for (at, date) in dates.iter().enumerate() {
                prop_assert!(found.iter().filter(|f| **f == Some(at)).count() <= date.free);
            }
            let days: Vec<_> = heads.iter().zip(&found).filter_map(|(h, at)| at.map(|at| away(h, dates[at].day))).collect();
            prop_assert!(days.iter().all(Option::is_some), "inside a bar: {:?}", found);
            let score = (days.len(), days.into_iter().flatten().sum::<i64>());
            prop_assert_eq!(score, brute(&heads, &dates, &mut dates.iter().map(|d| d.free).collect()));
        }
    }
}
