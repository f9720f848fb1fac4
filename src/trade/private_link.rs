//! How long a customer's private link opens its order, and a processor's its date.

use chrono::NaiveDate;

/// Days a link goes on opening an order that is settled, so that receipts and the invoice can still be fetched.
pub const OPEN_DAYS: i64 = 90;

/// Whether the links of an order open it on a day. They end when the order is cancelled, and [`OPEN_DAYS`] days after it is settled:
/// `settled_on` is the later of the day it was paid in full and the day it was collected; `None` while it is not paid.
pub fn opens(is_cancelled: bool, settled_on: Option<NaiveDate>, today: NaiveDate) -> bool {
    !is_cancelled && settled_on.is_none_or(|day| today.signed_duration_since(day).num_days() <= OPEN_DAYS)
}

/// Days a processor's link goes on opening its date after the day of slaughter, or after the last day of pickup when that is later.
/// Beef hangs for up to four weeks and hams are cured for several (common practice, no source); the boxes are counted last.
pub const DATE_OPEN_DAYS: i64 = 60;

/// The last day on which a processor's links open a date.
pub fn date_opens_until(kill_on: NaiveDate, pickup_to: Option<NaiveDate>) -> NaiveDate {
    let last = pickup_to.map_or(kill_on, |day| day.max(kill_on));
    last.checked_add_signed(chrono::TimeDelta::days(DATE_OPEN_DAYS)).unwrap_or(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_processors_link_ends_with_its_date() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        assert_eq!(date_opens_until(day("2027-10-14"), None), day("2027-12-13"));
        assert_eq!(date_opens_until(day("2027-10-14"), Some(day("2027-11-06"))), day("2028-01-05"));
        assert_eq!(date_opens_until(day("2027-10-14"), Some(day("2027-10-01"))), day("2027-12-13"));
        assert_eq!(date_opens_until(NaiveDate::MAX, None), NaiveDate::MAX);
    }

    #[test]
    fn a_link_ends_with_its_order() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let today = day("2028-01-12");
        assert!(opens(false, None, today), "an order that is not paid is open however old it is");
        assert!(!opens(true, None, today), "a cancelled one is not");
        assert!(opens(false, Some(day("2027-10-14")), today), "ninety days after");
        assert!(!opens(false, Some(day("2027-10-13")), today), "ninety-one days after");
        assert!(!opens(true, Some(today), today));
    }
}
