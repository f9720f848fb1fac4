//! Cut sheets and time: on which days customers are reminded, when time is up, and until when they may change a sheet.

use chrono::NaiveDate;

/// The most reminder days a farm can set.
pub const MOST_REMINDERS: usize = 6;
/// The earliest reminder, in days before the deadline.
pub const EARLIEST_REMINDER: i64 = 60;

/// On which days before a deadline customers without a cut sheet are reminded; 0 is the day itself. The earliest first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReminderDays(Vec<i64>);

impl ReminderDays {
    /// Reads "14, 5, 1"; an empty text is no reminder at all. At most [`MOST_REMINDERS`] different days, each from 0 to
    /// [`EARLIEST_REMINDER`].
    ///
    /// # Errors
    /// A sentence that says what to write.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut days = Vec::new();
        for word in text.split([',', ';', ' ']).filter(|w| !w.is_empty()) {
            let day: i64 = word.parse().ok().filter(|n| (0..=EARLIEST_REMINDER).contains(n)).ok_or_else(|| {
                format!("“{word}” is no number of days from 0 to {EARLIEST_REMINDER}. Write the days like 14, 5, 1")
            })?;
            if days.contains(&day) {
                return Err(format!("{day} stands there twice. Write each day once"));
            }
            days.push(day);
        }
        if days.len() > MOST_REMINDERS {
            return Err(format!("That is {} reminders. Write at most {MOST_REMINDERS} days", days.len()));
        }
        days.sort_unstable_by(|a, b| b.cmp(a));
        Ok(Self(days))
    }

    /// As it is stored and typed: "14, 5, 1".
    pub fn shown(&self) -> String {
        self.0.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
    }

    /// The first reminder, in days before the deadline; none when nobody is reminded.
    pub fn first(&self) -> Option<i64> {
        self.0.first().copied()
    }

    /// Which reminder is due when so many days are left: the last one whose day has come. Earlier ones that were missed are
    /// passed over, so that nobody gets two at once. None before the first and after the deadline.
    pub fn due(&self, days_left: i64) -> Option<i64> {
        if days_left < 0 { None } else { self.0.iter().copied().filter(|d| *d >= days_left).min() }
    }
}

/// Days from today to the deadline; negative when it is over.
pub fn days_left(due: NaiveDate, today: NaiveDate) -> i64 {
    due.signed_duration_since(today).num_days()
}

/// Whether a customer may still change a cut sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lock {
    /// It may be changed until the end of that day, the farm's; without a day as long as nothing is sent.
    Open(Option<NaiveDate>),
    /// The deadline is over: it was that day.
    TimeUp(NaiveDate),
    /// The sheets are with the processor.
    Sent,
}

/// Until when the sheets of a date may be changed. The deadline's whole day counts; without a deadline it is the day before
/// slaughter. `lifted`: the farmer opened them again, which holds until the day of slaughter.
pub fn lock(due: Option<NaiveDate>, kill_on: NaiveDate, today: NaiveDate, sent: bool, lifted: bool) -> Lock {
    let eve = kill_on.pred_opt().unwrap_or(kill_on);
    let until = if lifted { eve } else { due.unwrap_or(eve) };
    if today > until {
        Lock::TimeUp(until)
    } else if sent && !lifted {
        Lock::Sent
    } else {
        Lock::Open(Some(until))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn days_are_read_in_any_order_and_shown_as_they_come() {
        assert_eq!(ReminderDays::parse(" 1,14 ,5").unwrap().shown(), "14, 5, 1");
        assert_eq!(ReminderDays::parse("").unwrap(), ReminderDays::default());
        for bad in ["14, 14", "61", "-1", "five", "1.5", "1,2,3,4,5,6,7"] {
            assert!(ReminderDays::parse(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_missed_reminder_is_passed_over_and_none_comes_after_the_deadline() {
        let days = ReminderDays::parse("14, 5, 1").unwrap();
        let due = |left| days.due(left);
        assert_eq!(
            [20, 15, 14, 6, 5, 2, 1, 0, -1].map(due),
            [None, None, Some(14), Some(14), Some(5), Some(5), Some(1), Some(1), None]
        );
    }

    #[test]
    fn the_deadlines_day_still_counts() {
        let (due, kill) = (day("2027-10-07"), day("2027-10-14"));
        let of = |today: &str, sent, lifted| lock(Some(due), kill, day(today), sent, lifted);
        assert_eq!(of("2027-10-07", false, false), Lock::Open(Some(due)));
        assert_eq!(of("2027-10-08", false, false), Lock::TimeUp(due));
        assert_eq!(of("2027-10-05", true, false), Lock::Sent);
        assert_eq!(of("2027-10-13", true, true), Lock::Open(Some(day("2027-10-13"))));
        assert_eq!(of("2027-10-14", true, true), Lock::TimeUp(day("2027-10-13")));
        assert_eq!(lock(None, kill, day("2027-10-13"), false, false), Lock::Open(Some(day("2027-10-13"))));
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_back(days in proptest::collection::hash_set(0_i64..=60, 0..6)) {
            let text: Vec<String> = days.iter().map(ToString::to_string).collect();
            let read = ReminderDays::parse(&text.join(",")).unwrap();
            prop_assert_eq!(ReminderDays::parse(&read.shown()).unwrap(), read.clone());
            for left in 0..70 {
                if let Some(d) = read.due(left) {
                    prop_assert!(d >= left && days.contains(&d));
                }
            }
        }
    }
}
