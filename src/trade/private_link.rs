//! How long a customer's private link opens its order.

use chrono::NaiveDate;

/// Days a link goes on opening an order that is settled, so that receipts and the invoice can still be fetched.
pub const OPEN_DAYS: i64 = 90;

/// Whether the links of an order open it on a day. They end when the order is cancelled, and [`OPEN_DAYS`] days after it is settled:
/// `settled_on` is the later of the day it was paid in full and the day it was collected; `None` while it is not paid.
pub fn opens(is_cancelled: bool, settled_on: Option<NaiveDate>, today: NaiveDate) -> bool {
    !is_cancelled && settled_on.is_none_or(|day| today.signed_duration_since(day).num_days() <= OPEN_DAYS)
}

#[cfg(test)]
mod tests {
    use super::*;

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
