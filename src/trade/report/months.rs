//! Month by month: income on cash and on accrual basis, and deposits held.

use super::behind::Group;
use super::period::Month;
use crate::trade::ledger::Account;
use chrono::NaiveDate;

/// What a day did to an account, in cents, both not negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Daily {
    /// The day.
    pub day: NaiveDate,
    /// The account.
    pub account: Account,
    /// The positive lines.
    pub debits: i64,
    /// The negative lines, turned around.
    pub credits: i64,
}

/// Income of a month in cents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Income {
    /// Money that came in.
    pub came: i64,
    /// Money given back, or taken back by the bank.
    pub back: i64,
    /// Shares invoiced, less what was credited.
    pub sales: i64,
    /// Charges, kept deposits, less discounts.
    pub other: i64,
    /// What will not be paid any more.
    pub lost: i64,
}

impl Income {
    /// Counted when the money moves.
    pub const fn cash(&self) -> i64 {
        self.came.saturating_sub(self.back)
    }
    /// Counted when it is invoiced.
    pub const fn accrual(&self) -> i64 {
        self.sales.saturating_add(self.other).saturating_sub(self.lost)
    }
    /// Both together.
    #[must_use]
    pub const fn plus(&self, other: &Self) -> Self {
        Self {
            came: self.came.saturating_add(other.came),
            back: self.back.saturating_add(other.back),
            sales: self.sales.saturating_add(other.sales),
            other: self.other.saturating_add(other.other),
            lost: self.lost.saturating_add(other.lost),
        }
    }
    /// One line, by its account; other accounts are no income.
    fn of(line: &Daily) -> Self {
        let earned = line.credits.saturating_sub(line.debits);
        let on = |group: Group| group.accounts().contains(&line.account);
        if on(Group::Money) {
            Self { came: line.debits, back: line.credits, ..Self::default() }
        } else if on(Group::Sales) {
            Self { sales: earned, ..Self::default() }
        } else if on(Group::OtherEarned) {
            Self { other: earned, ..Self::default() }
        } else if line.account == Account::WriteOffs {
            Self { lost: earned.saturating_neg(), ..Self::default() }
        } else {
            Self::default()
        }
    }
}

/// The income of each month.
pub fn income(lines: &[Daily], months: &[Month]) -> Vec<Income> {
    months
        .iter()
        .map(|month| {
            let mine = lines.iter().filter(|l| month.holds(l.day));
            mine.fold(Income::default(), |sum, line| sum.plus(&Income::of(line)))
        })
        .collect()
}

/// Deposits held over a month, in cents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Held {
    /// At its beginning.
    pub start: i64,
    /// Put to orders.
    pub put: i64,
    /// Taken from orders: to their invoices, back to customers, kept, to other orders.
    pub taken: i64,
    /// At its end.
    pub end: i64,
}

/// Deposits held over each month, from what was held before the first.
pub fn held(opening: i64, lines: &[Daily], months: &[Month]) -> Vec<Held> {
    let mut start = opening;
    months
        .iter()
        .map(|month| {
            let mine = || lines.iter().filter(|l| l.account == Account::Deposits && month.holds(l.day));
            let put = mine().fold(0_i64, |n, l| n.saturating_add(l.credits));
            let taken = mine().fold(0_i64, |n, l| n.saturating_add(l.debits));
            let end = start.saturating_add(put).saturating_sub(taken);
            let held = Held { start, put, taken, end };
            start = end;
            held
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::period::months;
    use super::*;

    fn line(day: &str, account: Account, debits: i64, credits: i64) -> Daily {
        Daily { day: day.parse().unwrap(), account, debits, credits }
    }

    #[test]
    fn income_is_counted_once_on_each_basis() {
        let all = months("2027-01-01".parse().unwrap(), "2027-03-31".parse().unwrap());
        let lines = [
            line("2027-01-31", Account::Checks, 15_000, 0),
            line("2027-02-01", Account::Cash, 5_000, 2_000),
            line("2027-03-05", Account::SalesHog, 1_000, 43_313),
            line("2027-03-05", Account::Discounts, 500, 0),
            line("2027-03-05", Account::Forfeited, 0, 700),
            line("2027-03-31", Account::WriteOffs, 300, 0),
            line("2027-03-31", Account::Deposits, 15_000, 0),
            line("2027-04-01", Account::Checks, 99, 0),
        ];
        let got = income(&lines, &all);
        assert_eq!(got.iter().map(Income::cash).collect::<Vec<_>>(), [15_000, 3_000, 0]);
        assert_eq!(got.iter().map(Income::accrual).collect::<Vec<_>>(), [0, 0, 42_313 + 200 - 300]);
    }

    #[test]
    fn deposits_go_on_from_month_to_month() {
        let all = months("2027-01-01".parse().unwrap(), "2027-03-31".parse().unwrap());
        let lines = [
            line("2027-01-04", Account::Deposits, 0, 30_000),
            line("2027-03-04", Account::Deposits, 45_000, 5_000),
            line("2027-03-04", Account::Checks, 45_000, 5_000),
        ];
        assert_eq!(
            held(10_000, &lines, &all),
            [
                Held { start: 10_000, put: 30_000, taken: 0, end: 40_000 },
                Held { start: 40_000, put: 0, taken: 0, end: 40_000 },
                Held { start: 40_000, put: 5_000, taken: 45_000, end: 0 },
            ]
        );
    }
}
