//! Overdue balances: which letter is due by schedule, and what interest comes to where the farm charges any.

use super::money::{Money, Overflow, Percent};
use super::terms::days_late;
use chrono::{Months, NaiveDate};
use rust_decimal::Decimal;

crate::words! {
    /// In which tone a letter about an overdue balance is written.
    pub enum Tone {
        /// A reminder.
        Friendly = "friendly", "friendly reminder";
        /// A plain request with a day.
        Firm = "firm", "firm letter";
        /// The last one before help outside is asked for.
        Last = "last", "last letter";
    }
}

/// Days that lie at least between a letter by schedule and the one before it.
pub const PAUSE: i64 = 7;
/// Days that a letter gives to pay.
pub const GRACE: u64 = 14;

/// When letters go out by themselves, in days after the due day; none: not at all. The last letter never does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Schedule {
    /// The friendly reminder.
    pub friendly_after: Option<i64>,
    /// The firm letter.
    pub firm_after: Option<i64>,
}

/// The letter that is due by schedule today, if any. `written`: what was written about this invoice already, by hand or by schedule.
/// Each tone goes out once; a friendly one never after a firmer one; and [`PAUSE`] days lie between two.
pub fn due(s: Schedule, due_on: Option<NaiveDate>, today: NaiveDate, written: &[(Tone, NaiveDate)]) -> Option<Tone> {
    let late = days_late(due_on, today);
    let last = written.iter().map(|(_, day)| *day).max();
    if last.is_some_and(|day| today.signed_duration_since(day).num_days() < PAUSE) {
        return None;
    }
    let reached = |after: Option<i64>| after.is_some_and(|days| late > 0 && late >= days);
    let has = |least: Tone| written.iter().any(|(tone, _)| *tone >= least);
    // Whoever is late for long when the schedule is switched on still hears the friendly words first.
    if reached(s.friendly_after) && !has(Tone::Friendly) {
        Some(Tone::Friendly)
    } else if reached(s.firm_after) && !has(Tone::Firm) {
        Some(Tone::Firm)
    } else {
        None
    }
}

/// Whole months past the due day.
pub fn months_late(due_on: Option<NaiveDate>, today: NaiveDate) -> u32 {
    let Some(due) = due_on else { return 0 };
    (1..=1_200)
        .take_while(|n| due.checked_add_months(Months::new(*n)).is_some_and(|day| day <= today))
        .last()
        .unwrap_or(0)
}

/// Interest that can be charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interest {
    /// Whole months that were not charged yet.
    pub months: u32,
    /// The end of the last of them.
    pub through: NaiveDate,
    /// What it is reckoned on.
    pub on: Money,
    /// What it comes to.
    pub amount: Money,
}

/// Interest for the whole months past the due day that were not charged yet, on what is owed today without interest charged before: no
/// interest on interest. `rate` is per cent a month. None when it comes to nothing.
///
/// # Errors
/// [`Overflow`] when it is more than can be recorded.
pub fn interest(
    rate: Percent,
    due_on: Option<NaiveDate>,
    today: NaiveDate,
    owed: Money,
    charged: Money,
    months_charged: u32,
) -> Result<Option<Interest>, Overflow> {
    let all = months_late(due_on, today);
    let months = all.saturating_sub(months_charged);
    let on = owed.minus(charged)?;
    let Some(through) = due_on.and_then(|due| due.checked_add_months(Months::new(all))) else { return Ok(None) };
    if months == 0 || !on.is_positive() {
        return Ok(None);
    }
    let part = Decimal::new(rate.thousandths(), 5).checked_mul(Decimal::from(months)).ok_or(Overflow)?;
    let amount = Money::rounded(on.decimal().checked_mul(part).ok_or(Overflow)?)?;
    Ok(amount.is_positive().then_some(Interest { months, through, on, amount }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }
    const BOTH: Schedule = Schedule { friendly_after: Some(7), firm_after: Some(30) };

    #[test]
    fn each_letter_goes_once_in_its_order_with_a_pause() {
        let on = Some(day("2027-10-01"));
        let at = |text: &str, written: &[(Tone, NaiveDate)]| due(BOTH, on, day(text), written);
        assert_eq!(at("2027-10-07", &[]), None);
        assert_eq!(at("2027-10-08", &[]), Some(Tone::Friendly));
        let first = [(Tone::Friendly, day("2027-10-08"))];
        assert_eq!(at("2027-10-30", &first), None);
        assert_eq!(at("2027-10-31", &first), Some(Tone::Firm));
        let both = [(Tone::Friendly, day("2027-10-08")), (Tone::Firm, day("2027-10-31"))];
        assert_eq!(at("2028-05-01", &both), None, "the last letter never goes by itself");
        // Late for long when it is switched on: friendly first, and firm a week later.
        assert_eq!(at("2028-05-01", &[]), Some(Tone::Friendly));
        let late = [(Tone::Friendly, day("2028-05-01"))];
        assert_eq!(at("2028-05-07", &late), None);
        assert_eq!(at("2028-05-08", &late), Some(Tone::Firm));
        // A firm letter by hand: no friendly one after it.
        assert_eq!(at("2028-05-08", &[(Tone::Firm, day("2027-10-02"))]), None);
        assert_eq!(due(Schedule::default(), on, day("2028-05-08"), &[]), None, "off unless the farmer says so");
        assert_eq!(due(BOTH, None, day("2028-05-08"), &[]), None, "due before pickup is never late");
    }

    #[test]
    fn interest_is_of_whole_months_and_never_of_interest() {
        let (rate, on) = (Percent::from_thousandths(1_500), Some(day("2027-10-31")));
        let ask = |today: &str, owed: i64, charged: i64, months| {
            interest(rate, on, day(today), Money::from_cents(owed), Money::from_cents(charged), months).unwrap()
        };
        assert_eq!(ask("2027-11-29", 70_575, 0, 0), None);
        // A month after October 31 is November 30.
        let one = ask("2027-11-30", 70_575, 0, 0).unwrap();
        assert_eq!((one.months, one.through, one.amount.plain()), (1, day("2027-11-30"), "10.59".into()));
        let next = ask("2028-01-31", 70_575 + 1_059, 1_059, 1).unwrap();
        assert_eq!((next.months, next.on.plain(), next.amount.plain()), (2, "705.75".into(), "21.17".into()));
        assert_eq!(ask("2028-01-31", 1_059, 1_059, 1), None, "only interest is owed");
        assert_eq!(ask("2028-01-31", 70_575, 0, 3), None);
    }

    proptest! {
        #[test]
        fn a_month_is_charged_once(days in 0_i64..2_000, owed in 1_i64..10_000_000, rate in 1_i64..10_000) {
            let due = day("2027-01-15");
            let today = due + chrono::TimeDelta::days(days);
            let rate = Percent::from_thousandths(rate);
            let months = months_late(Some(due), today);
            prop_assert!(due.checked_add_months(Months::new(months)).unwrap() <= today);
            prop_assert!(due.checked_add_months(Months::new(months + 1)).unwrap() > today);
            if let Some(i) = interest(rate, Some(due), today, Money::from_cents(owed), Money::ZERO, 0).unwrap() {
                prop_assert_eq!(i.months, months);
                let again = interest(rate, Some(due), today, Money::from_cents(owed).plus(i.amount).unwrap(), i.amount, i.months);
                prop_assert_eq!(again.unwrap(), None);
            }
        }
    }
}
