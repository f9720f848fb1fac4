//! Which copies are kept.
//!
//! The rule: every copy of the last 7 days; of older ones the last of each week (Monday to Sunday, UTC) for 5 weeks and the
//! last of each month for 13 months; copies made before an upgrade or a restore for 90 days; and whatever their age the newest
//! 3 and the newest in which every rule of the book holds. All others go.

use super::record::{Record, Why};
use chrono::Datelike;
use std::collections::BTreeSet;

/// The files that the rule lets go, of these records, at an instant (milliseconds since 1970 in UTC).
pub fn to_remove(records: &[Record], now: i64) -> Vec<String> {
    let mut newest_first: Vec<&Record> = records.iter().collect();
    newest_first.sort_by(|a, b| (b.made_at, &b.file).cmp(&(a.made_at, &a.file)));
    let (mut weeks, mut months) = (BTreeSet::new(), BTreeSet::new());
    let mut gone = Vec::new();
    let newest_good = newest_first.iter().find(|r| r.fault.is_none()).map(|r| r.file.clone());
    for (n, record) in newest_first.into_iter().enumerate() {
        let days = now.saturating_sub(record.made_at) / super::DAY;
        let day = record.made().utc().date_naive();
        let week = day.iso_week();
        // Each is the last of its week or month when it is the first met on the way back.
        let is_last_of_week = weeks.insert((week.year(), week.week()));
        let is_last_of_month = months.insert((day.year(), day.month()));
        let by_why = matches!(record.why, Why::BeforeUpgrade | Why::BeforeRestore) && days < 90;
        let stays = n < 3
            || newest_good.as_ref() == Some(&record.file)
            || days < 7
            || by_why
            || (is_last_of_week && days < 35)
            || (is_last_of_month && days < 400);
        if !stays {
            gone.push(record.file.clone());
        }
    }
    gone
}

#[cfg(test)]
mod tests {
    use super::super::DAY;
    use super::*;
    use proptest::prelude::*;

    const NOW: i64 = 1_823_536_800_000;

    fn at(days: i64, why: Why) -> Record {
        Record {
            file: format!("book-{days:05}-{}.sqlite", why.words().replace(' ', "-")),
            made_at: NOW - days * DAY,
            why,
            bytes: 1,
            sha256: String::new(),
            step: String::new(),
            verified_at: NOW,
            rules: 1,
            fault: None,
            tables: Vec::new(),
            rehearsed_at: None,
            also_in: None,
        }
    }

    #[test]
    fn two_years_of_daily_copies_leave_about_two_dozen() {
        let all: Vec<Record> = (0..730).map(|d| at(d, Why::Daily)).collect();
        let gone = to_remove(&all, NOW);
        let kept: Vec<i64> = (0..730).filter(|d| !gone.contains(&at(*d, Why::Daily).file)).collect();
        assert_eq!(kept[..7], [0, 1, 2, 3, 4, 5, 6]);
        assert_eq!(kept.iter().filter(|d| (7..35).contains(*d)).count(), 5, "4 weeks and the end of a month");
        assert_eq!(kept.iter().filter(|d| **d >= 35).count(), 12);
        assert!(kept.iter().all(|d| *d < 400));
    }

    #[test]
    fn old_copies_stay_when_there_are_no_newer_ones() {
        let all = [at(900, Why::Daily), at(901, Why::Daily), at(902, Why::Asked)];
        assert!(to_remove(&all, NOW).is_empty());
    }

    #[test]
    fn the_last_good_one_outlives_any_number_of_doubtful_ones() {
        let mut all: Vec<Record> = (0..700).map(|d| at(d, Why::Daily)).collect();
        for record in &mut all {
            record.fault = Some("a rule".into());
        }
        all.push(at(800, Why::Daily));
        assert!(!to_remove(&all, NOW).contains(&at(800, Why::Daily).file));
    }

    #[test]
    fn what_an_upgrade_replaced_stays_for_ninety_days() {
        let mut all: Vec<Record> = (0..200).map(|d| at(d, Why::Daily)).collect();
        all.push(at(80, Why::BeforeUpgrade));
        all.push(at(95, Why::BeforeUpgrade));
        let gone = to_remove(&all, NOW);
        assert!(!gone.contains(&at(80, Why::BeforeUpgrade).file));
        assert!(gone.contains(&at(95, Why::BeforeUpgrade).file));
    }

    proptest! {
        #[test]
        fn the_newest_three_stay_and_a_second_sweep_finds_nothing(days in prop::collection::btree_set(0_i64..2000, 0..60)) {
            let all: Vec<Record> = days.iter().map(|d| at(*d, Why::Daily)).collect();
            let gone = to_remove(&all, NOW);
            for d in days.iter().take(3) {
                prop_assert!(!gone.contains(&at(*d, Why::Daily).file));
            }
            let left: Vec<Record> = all.into_iter().filter(|r| !gone.contains(&r.file)).collect();
            prop_assert_eq!(to_remove(&left, NOW), Vec::<String>::new());
        }
    }
}
