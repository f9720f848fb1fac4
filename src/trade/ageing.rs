//! How late what is owed is, in the classes of common practice: not due, 1–30, 31–60, 61–90 and over 90 days.

use chrono::NaiveDate;

crate::words! {
    /// How many days past the day it was due.
    pub enum Age {
        /// Due later or today, or before pickup.
        NotDue = "not_due", "Not due";
        /// 1 to 30 days late.
        To30 = "to_30", "1–30 days";
        /// 31 to 60 days late.
        To60 = "to_60", "31–60 days";
        /// 61 to 90 days late.
        To90 = "to_90", "61–90 days";
        /// More than 90 days late.
        Over90 = "over_90", "Over 90 days";
    }
}

/// The class of an invoice on a day; one that is due before pickup is never late.
pub fn age(due_on: Option<NaiveDate>, day: NaiveDate) -> Age {
    match super::terms::days_late(due_on, day) {
        ..=0 => Age::NotDue,
        1..=30 => Age::To30,
        31..=60 => Age::To60,
        61..=90 => Age::To90,
        _ => Age::Over90,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_class_begins_and_ends_where_it_says() {
        let due: NaiveDate = "2027-03-01".parse().unwrap();
        let after = |days| age(Some(due), due + chrono::TimeDelta::days(days));
        let ends =
            [(-5, Age::NotDue), (0, Age::NotDue), (1, Age::To30), (30, Age::To30), (31, Age::To60), (60, Age::To60)];
        let more = [(61, Age::To90), (90, Age::To90), (91, Age::Over90), (4000, Age::Over90)];
        for (days, class) in ends.into_iter().chain(more) {
            assert_eq!(after(days), class, "{days} days");
        }
        assert_eq!(age(None, due), Age::NotDue);
    }
}
