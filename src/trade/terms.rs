//! When an invoice is due.

use super::vocabulary::Terms;
use chrono::{Days, NaiveDate};

/// The longest terms, in days.
pub const LONGEST_DAYS: i64 = 365;

/// The day an invoice is due; `None` when it is due before pickup, or (never for days of 0 to 365) the calendar ends.
pub fn due_on(terms: Terms, days: i64, issued_on: NaiveDate) -> Option<NaiveDate> {
    match terms {
        Terms::Days => issued_on.checked_add_days(Days::new(u64::try_from(days).ok()?.min(365))),
        Terms::Pickup => None,
    }
}

/// How many days late it is: 0 on the due day and before, and for invoices due before pickup.
pub fn days_late(due_on: Option<NaiveDate>, today: NaiveDate) -> i64 {
    due_on.map_or(0, |due| today.signed_duration_since(due).num_days().max(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn due_some_days_after_issue_or_before_pickup() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        assert_eq!(due_on(Terms::Days, 14, day("2027-10-05")), Some(day("2027-10-19")));
        assert_eq!(due_on(Terms::Days, 0, day("2027-10-05")), Some(day("2027-10-05")));
        assert_eq!(due_on(Terms::Days, -1, day("2027-10-05")), None);
        assert_eq!(due_on(Terms::Pickup, 14, day("2027-10-05")), None);
        assert_eq!(days_late(Some(day("2027-10-19")), day("2027-10-19")), 0);
        assert_eq!(days_late(Some(day("2027-10-19")), day("2027-10-27")), 8);
        assert_eq!(days_late(None, day("2027-10-27")), 0);
    }
}
