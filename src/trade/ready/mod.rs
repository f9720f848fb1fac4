//! Which head is ready for which booked date: a proposal, not a promise.
//!
//! - [`gain`]: what a head gains a day, from its live weights, else what its species usually gains.
//! - [`assign`]: which head goes on which date, so that most go and the days away from their targets are fewest.
//!
//! A head is ready on the day its weight reaches the target: days = (target − last weight) ÷ gain a day, rounded up, counted
//! from the last weighing ("days to market", Hines and Mikesell, "Adjusting and Monitoring Meat Animal Growth Rate"). A date is
//! proposed from [`EARLY`] days before that day to [`LATE`] days after it (common practice, no source). A withdrawal period and
//! the slots booked are hard bars.

pub mod assign;
pub mod gain;

use chrono::{Days, NaiveDate};
use gain::Gain;

/// Days before the day of its target weight on which a head may be proposed for a date: six weeks.
pub const EARLY: i64 = 42;
/// Days after it: twelve weeks.
pub const LATE: i64 = 84;
/// The farthest day ahead that is reckoned: two years. Beyond, the gain says nothing any more.
pub const FARTHEST: u64 = 730;

/// Whole days from the last weighing until the target is reached, both weights in hundredths of the farm's unit; 0 when it is
/// reached already. `None` when it does not gain, or not within [`FARTHEST`] days.
pub fn days_to(last: i64, target: i64, gain: Gain) -> Option<u64> {
    let missing = target.checked_sub(last)?;
    if missing <= 0 {
        return Some(0);
    }
    if gain.weight <= 0 || gain.days <= 0 {
        return None;
    }
    let days = i128::from(missing).checked_mul(i128::from(gain.days))?;
    let weight = i128::from(gain.weight);
    let days = days.checked_add(weight.checked_sub(1)?)?.checked_div(weight)?;
    u64::try_from(days).ok().filter(|d| *d <= FARTHEST)
}

/// The day on which the target is reached.
pub fn ready_on(weighed_on: NaiveDate, last: i64, target: i64, gain: Gain) -> Option<NaiveDate> {
    weighed_on.checked_add_days(Days::new(days_to(last, target, gain)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The four worked examples of Hines and Mikesell's table: purchase weight, market weight, gain, days to market. For goats
    /// they print a range of gains, .25-.33, and 120 days.
    #[test]
    fn days_to_market_are_those_published() {
        let gain = |hundredths| Gain { weight: hundredths, days: 1 };
        assert_eq!(days_to(6_000, 26_000, gain(170)), Some(118), "pigs, 1.7 lb a day");
        assert_eq!(days_to(5_000, 12_000, gain(50)), Some(140), "lambs, 0.5 lb a day");
        assert_eq!(days_to(50_000, 130_000, gain(200)), Some(400), "cattle, 2.0 lb a day");
        let goats = (days_to(4_000, 7_500, gain(33)).unwrap(), days_to(4_000, 7_500, gain(25)).unwrap());
        assert!((goats.0..=goats.1).contains(&120), "goats: {goats:?}");
    }

    #[test]
    fn a_part_of_a_day_counts_as_one_and_what_does_not_gain_is_never_ready() {
        assert_eq!(days_to(100, 301, Gain { weight: 100, days: 1 }), Some(3));
        assert_eq!(days_to(300, 300, Gain { weight: 0, days: 1 }), Some(0));
        for gain in [Gain { weight: 0, days: 1 }, Gain { weight: -5, days: 1 }, Gain { weight: 1, days: 1 }] {
            assert_eq!(days_to(0, 100_000, gain), None);
        }
    }
}
