//! The scale of a chart: round ticks around the values, and where a value lies between them. Whole numbers only.

/// Steps between ticks at most.
const MOST_STEPS: i128 = 5;

/// From where to where a chart reaches, in the values' own unit, and the step between its ticks. Nothing is always on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// The lowest tick, nothing or below.
    pub low: i64,
    /// The highest tick, nothing or above, and above the lowest.
    pub high: i64,
    /// From tick to tick, above nothing.
    pub step: i64,
}

impl Scale {
    /// A scale that holds all of these; `unit` is the smallest step, such as a dollar's hundred cents.
    pub fn of(values: impl IntoIterator<Item = i64>, unit: i64) -> Self {
        let (low, high) = values.into_iter().fold((0_i64, 0_i64), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = (i128::from(low), i128::from(high));
        // 1, 2, 5, 10, 20, 50…: the first of which few are enough.
        let mut tens = i128::from(unit.max(1));
        let step = loop {
            let enough = [1_i128, 2, 5].iter().map(|f| tens.saturating_mul(*f));
            if let Some(step) = enough.into_iter().find(|s| steps(low, high, *s) <= MOST_STEPS) {
                break step;
            }
            tens = tens.saturating_mul(10);
        };
        let down = low.saturating_neg().saturating_add(step - 1).div_euclid(step);
        let up = high.saturating_add(step - 1).div_euclid(step).max(i128::from(down == 0));
        let whole = |n: i128| i64::try_from(n).unwrap_or(if n < 0 { i64::MIN } else { i64::MAX });
        Self { low: whole(-down * step), high: whole(up * step), step: whole(step) }
    }

    /// The ticks from the lowest to the highest.
    pub fn ticks(&self) -> Vec<i64> {
        let mut all = vec![self.low];
        let mut last = self.low;
        while let Some(next) = last.checked_add(self.step).filter(|n| *n <= self.high && all.len() < 20) {
            all.push(next);
            last = next;
        }
        all
    }

    /// Where a value lies between `bottom` (the lowest tick) and `top` (the highest), rounded half away from zero.
    pub fn at(&self, value: i64, bottom: i64, top: i64) -> i64 {
        let span = i128::from(self.high) - i128::from(self.low);
        let along = i128::from(value.clamp(self.low, self.high)) - i128::from(self.low);
        let room = i128::from(top) - i128::from(bottom);
        let doubled = along.saturating_mul(room).saturating_mul(2);
        let half = if doubled < 0 { -span } else { span };
        let moved = doubled.saturating_add(half).checked_div(span.saturating_mul(2)).unwrap_or(0);
        bottom.saturating_add(i64::try_from(moved).unwrap_or(0))
    }
}

/// Steps needed from nothing down and from nothing up.
fn steps(low: i128, high: i128, step: i128) -> i128 {
    let count = |n: i128| n.saturating_add(step - 1).div_euclid(step);
    count(-low).saturating_add(count(high))
}

/// A tick in dollars: "500", "−2,500", "25k", "1.5M". Ticks of one scale are written alike: `step` says how.
pub fn dollars(cents: i64, step: i64) -> String {
    let (unit, letter) = match step {
        s if s >= 50_000_000 => (100_000_000_i64, "M"),
        s if s >= 500_000 => (100_000, "k"),
        _ => (100, ""),
    };
    if cents == 0 {
        return "0".into();
    }
    let tenths = cents.checked_div(unit.checked_div(10).unwrap_or(1)).unwrap_or(0);
    let text = if tenths % 10 == 0 {
        crate::trade::decimal::grouped(tenths / 10, 0)
    } else {
        crate::trade::decimal::grouped(tenths, 1)
    };
    format!("{text}{letter}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ticks_are_round_and_hold_everything() {
        let of = |values: &[i64]| {
            let s = Scale::of(values.iter().copied(), 100);
            (s.low, s.high, s.step)
        };
        assert_eq!(of(&[]), (0, 100, 100), "nothing still has a scale");
        assert_eq!(of(&[0, 0]), (0, 100, 100));
        assert_eq!(of(&[1]), (0, 100, 100), "one point");
        assert_eq!(of(&[500]), (0, 500, 100));
        assert_eq!(of(&[501]), (0, 600, 200));
        assert_eq!(of(&[123_456]), (0, 150_000, 50_000));
        assert_eq!(of(&[-123_456]), (-150_000, 0, 50_000));
        assert_eq!(of(&[-10_000, 90_000]), (-50_000, 100_000, 50_000));
        assert_eq!(of(&[9_999_999_999]), (0, 10_000_000_000, 2_000_000_000));
        let s = Scale::of([-10_000, 90_000], 100);
        assert_eq!(s.ticks(), [-50_000, 0, 50_000, 100_000]);
    }

    #[test]
    fn ticks_are_said_short() {
        assert_eq!(dollars(0, 50_000), "0");
        assert_eq!(dollars(-250_000, 50_000), "−2,500");
        assert_eq!(dollars(2_500_000, 500_000), "25k");
        assert_eq!(dollars(1_500_000_000, 50_000_000), "15M");
        assert_eq!(dollars(150_000_000, 50_000_000), "1.5M");
    }

    #[test]
    fn a_value_lies_in_its_place() {
        let s = Scale { low: -100, high: 300, step: 100 };
        assert_eq!([-100, 0, 100, 300].map(|v| s.at(v, 2_000, 0)), [2_000, 1_500, 1_000, 0]);
        assert_eq!((s.at(900, 2_000, 0), s.at(-900, 2_000, 0)), (0, 2_000), "what is outside stays on the edge");
    }

    proptest! {
        #[test]
        fn any_values_have_a_scale(values in prop::collection::vec(any::<i64>(), 0..8), unit in 1_i64..1_000) {
            let s = Scale::of(values.iter().copied(), unit);
            prop_assert!(s.low <= 0 && s.high >= 0 && s.low < s.high && s.step > 0);
            prop_assert!(values.iter().all(|v| (s.low..=s.high).contains(v)));
            let ticks = s.ticks();
            prop_assert!((1..=8).contains(&ticks.len()), "{:?}", ticks);
            for pair in values.windows(2) {
                let [a, b] = pair else { continue };
                let (ya, yb) = (s.at(*a, 2_000, 0), s.at(*b, 2_000, 0));
                prop_assert!((0..=2_000).contains(&ya));
                prop_assert!(if a <= b { ya >= yb } else { ya <= yb }, "more is never lower");
            }
        }

        #[test]
        fn usual_amounts_have_nothing_and_both_ends_on_a_tick(values in prop::collection::vec(-9_999_999_999_i64..9_999_999_999, 1..8)) {
            let s = Scale::of(values.iter().copied(), 100);
            let ticks = s.ticks();
            prop_assert!(ticks.contains(&0) && ticks.contains(&s.low) && ticks.contains(&s.high));
            prop_assert!(ticks.len() <= 6 + 1);
        }
    }
}
