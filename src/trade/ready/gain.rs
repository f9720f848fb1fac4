//! What a head gains a day.
//!
//! From its own weighings of the last half year: the median of the slopes between every two of them that lie a week or more
//! apart (the Theil-Sen slope), so that one bad reading moves it little. With fewer than two such weighings, the usual gain of
//! young stock of its species.

use crate::trade::animal::Class;
use crate::trade::weight::Unit;
use chrono::NaiveDate;

/// Weighings older than this many days before the last one do not count.
pub const WINDOW: i64 = 180;
/// Days two weighings must lie apart: over fewer, gut fill is more than growth (common practice, no source).
pub const APART: i64 = 7;

/// So much weight in so many days: hundredths of the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gain {
    /// Hundredths of the farm's unit; negative when it lost.
    pub weight: i64,
    /// Days, 1 or more.
    pub days: i64,
}

impl Gain {
    /// Hundredths a day, rounded half away from zero.
    pub fn a_day(self) -> i64 {
        let days = self.days.max(1);
        let half = if self.weight < 0 { -(days / 2) } else { days / 2 };
        self.weight.saturating_add(half) / days
    }
    fn less(self, other: Self) -> std::cmp::Ordering {
        let left = i128::from(self.weight).saturating_mul(i128::from(other.days));
        left.cmp(&i128::from(other.weight).saturating_mul(i128::from(self.days)))
    }
}

/// The gain from its own weighings (day and weight in hundredths, in any order); `None` when fewer than two count.
pub fn measured(weighings: &[(NaiveDate, i64)]) -> Option<Gain> {
    let last = weighings.iter().map(|w| w.0).max()?;
    let counted: Vec<_> = weighings.iter().filter(|w| (last - w.0).num_days() <= WINDOW).collect();
    let mut slopes = Vec::new();
    for (n, a) in counted.iter().enumerate() {
        for b in counted.iter().skip(n.saturating_add(1)) {
            let (from, to) = if a.0 <= b.0 { (a, b) } else { (b, a) };
            let days = (to.0 - from.0).num_days();
            if days >= APART {
                slopes.push(Gain { weight: to.1.saturating_sub(from.1), days });
            }
        }
    }
    slopes.sort_by(|a, b| a.less(*b).then(a.days.cmp(&b.days)));
    // The lower of the two in the middle: rather later than too early.
    slopes.get(slopes.len().checked_sub(1)? / 2).copied()
}

/// What young stock of that class usually gains, and who says so; `None` for grown breeding stock, which is not fed to a target.
pub const fn usual(class: Class, unit: Unit) -> Option<(Gain, &'static str)> {
    const SOURCE: &str =
        "usual gain after Hines and Mikesell, “Adjusting and Monitoring Meat Animal Growth Rate”, on a complete feed";
    // Hundredths of a pound in ten days: 2.0 (range 1.5-4.5), 1.7 (1.2-2.5), 0.5 and the middle of .25-.33 lb a day.
    let tenfold = match class {
        Class::Steer | Class::Heifer | Class::DairySteer => 2_000,
        Class::Barrow | Class::Gilt => 1_700,
        Class::Lamb => 500,
        Class::Kid | Class::Wether => 290,
        _ => return None,
    };
    let weight = match unit {
        Unit::Lb => tenfold,
        // 0.45359237 kg to the pound, to the hundredth of a kilogram in ten days.
        Unit::Kg => (tenfold * 45_359_237 + 50_000_000) / 100_000_000,
    };
    Some((Gain { weight, days: 10 }, SOURCE))
}

/// The live weight a class is usually fed to, hundredths, where no offering promises anything (same source).
pub const fn usual_target(class: Class, unit: Unit) -> Option<i64> {
    let pounds = match class {
        Class::Steer | Class::Heifer | Class::DairySteer => 130_000,
        Class::Barrow | Class::Gilt => 26_000,
        Class::Lamb => 12_000,
        Class::Kid | Class::Wether => 7_500,
        _ => return None,
    };
    Some(match unit {
        Unit::Lb => pounds,
        Unit::Kg => (pounds * 45_359_237 + 50_000_000) / 100_000_000,
    })
}

/// The live weight that hangs what was promised: the middle of the expected range divided by the middle of the usual dressing
/// percentage (in tenths of one per cent), rounded half up.
pub fn target_for(expected_low: i64, expected_high: i64, dressing_low: i64, dressing_high: i64) -> Option<i64> {
    let hanging = expected_low.checked_add(expected_high)?.checked_mul(1_000)?;
    let dressing = dressing_low.checked_add(dressing_high).filter(|d| *d > 0)?;
    hanging.checked_add(dressing / 2)?.checked_div(dressing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn on(n: i64) -> NaiveDate {
        "2027-05-01".parse::<NaiveDate>().unwrap() + chrono::TimeDelta::days(n)
    }

    /// The worked example of Hines and Mikesell's definition: total gain divided by the days between.
    #[test]
    fn two_weighings_give_their_own_slope_and_one_bad_reading_moves_it_little() {
        assert_eq!(measured(&[(on(0), 60_000), (on(100), 90_000)]).unwrap().a_day(), 300);
        let mut four = vec![(on(0), 60_000), (on(30), 66_000), (on(60), 72_000), (on(90), 78_000)];
        assert_eq!(measured(&four).unwrap().a_day(), 200);
        four.push((on(75), 30_000));
        assert!((100..=200).contains(&measured(&four).unwrap().a_day()));
    }

    #[test]
    fn too_near_too_old_or_alone_is_not_known() {
        assert_eq!(measured(&[]), None);
        assert_eq!(measured(&[(on(0), 60_000)]), None);
        assert_eq!(measured(&[(on(0), 60_000), (on(6), 61_000)]), None);
        assert_eq!(measured(&[(on(0), 60_000), (on(181), 90_000)]), None);
    }

    #[test]
    fn a_promise_becomes_a_live_weight() {
        // 640 to 780 lb hanging at 58 to 66 % of live weight: 710 / 0.62.
        assert_eq!(target_for(64_000, 78_000, 580, 660), Some(114_516));
        assert_eq!(usual_target(Class::Steer, Unit::Kg), Some(58_967));
        assert_eq!(usual(Class::Cow, Unit::Lb), None);
    }

    proptest! {
        #[test]
        fn a_straight_line_is_found_whatever_the_order(start in 1_000_i64..50_000, slope in 1_i64..500, mut days in prop::collection::vec(0_i64..180, 2..8)) {
            days.sort_unstable();
            days.dedup();
            let line: Vec<_> = days.iter().rev().map(|d| (on(*d), start + slope * d)).collect();
            let apart = days.iter().any(|a| days.iter().any(|b| b - a >= APART));
            prop_assert_eq!(measured(&line).map(Gain::a_day), apart.then_some(slope));
        }
    }
}
