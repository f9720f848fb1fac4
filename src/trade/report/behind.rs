//! Which lines of the ledger stand behind a figure: what a report's link asks for, and what its sum is read as.

use super::period::Period;
use crate::trade::ledger::{Account, Class};
use crate::trade::money::Money;
use crate::trade::share::{Size, Species};
use chrono::NaiveDate;
use std::str::FromStr;

crate::words! {
    /// Accounts that are read together.
    pub enum Group {
        /// Money in hand, in any form.
        Money = "money", "Money in hand";
        /// Shares sold, of all species.
        Sales = "sales", "Sales";
        /// What else was earned, less discounts.
        OtherEarned = "other_earned", "Charges, discounts and kept deposits";
        /// Everything earned, less what will not be paid.
        Earned = "earned", "Everything earned, less write-offs";
        /// What an invoice moves.
        OnInvoices = "on_invoices", "What stands on invoices";
        /// What stands on orders without an invoice.
        OnOrders = "on_orders", "What stands on orders";
        /// What customers have from the farm, and money of which nobody knows yet whose it is.
        Theirs = "theirs", "Customers’ credit, refunds payable and money not matched";
    }
}

crate::words! {
    /// One side of an account.
    pub enum Half {
        /// Positive lines.
        Debit = "debit", "debit side only";
        /// Negative lines.
        Credit = "credit", "credit side only";
    }
}

impl Group {
    /// Its accounts.
    pub fn accounts(self) -> Vec<Account> {
        use Account as A;
        let sales = [A::SalesBeef, A::SalesHog, A::SalesLamb, A::SalesGoat];
        let other = [A::FarmCharges, A::PlantCharges, A::Discounts, A::Forfeited];
        match self {
            Self::Money => vec![A::Cash, A::Checks, A::Cards, A::Transfers, A::OtherMoney],
            Self::Sales => sales.to_vec(),
            Self::OtherEarned => other.to_vec(),
            Self::Earned => sales.into_iter().chain(other).chain([A::WriteOffs]).collect(),
            Self::OnInvoices => {
                let charged = [A::Receivable, A::Tax, A::FarmCharges, A::PlantCharges, A::Discounts, A::WriteOffs];
                sales.into_iter().chain(charged).collect()
            }
            Self::OnOrders => vec![A::Deposits, A::Forfeited],
            Self::Theirs => vec![A::Credit, A::NotMatched, A::Refunds],
        }
    }
}

/// An account, or several that are read together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// One.
    One(Account),
    /// Several.
    All(Group),
}

impl On {
    /// Its accounts.
    pub fn accounts(self) -> Vec<Account> {
        match self {
            Self::One(account) => vec![account],
            Self::All(group) => group.accounts(),
        }
    }
    /// As people read it.
    pub const fn label(self) -> &'static str {
        match self {
            Self::One(account) => account.label(),
            Self::All(group) => group.label(),
        }
    }
    /// Whether a debit is read as a minus: for what the farm owes and earns.
    const fn is_turned(self) -> bool {
        match self {
            Self::One(account) => matches!(account.class(), Class::Liability | Class::Income),
            Self::All(group) => !matches!(group, Group::Money | Group::OnInvoices),
        }
    }
}

impl std::fmt::Display for On {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::One(account) => account.fmt(f),
            Self::All(group) => group.fmt(f),
        }
    }
}

impl FromStr for On {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse().map(Self::One).or_else(|_| text.parse().map(Self::All))
    }
}

/// The lines behind a figure. What is `None` does not narrow them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Behind {
    /// On these accounts.
    pub on: On,
    /// Of entries that count for this day or a later one.
    pub from: Option<NaiveDate>,
    /// Of entries that count for this day or an earlier one.
    pub to: Option<NaiveDate>,
    /// On one side of the account only.
    pub side: Option<Half>,
    /// Only of entries that move money in hand.
    pub with_money: bool,
    /// Of orders and invoices for this species.
    pub species: Option<Species>,
    /// Of orders and invoices for shares of this size.
    pub share: Option<Size>,
    /// Of orders and invoices of this season.
    pub season: Option<String>,
    /// Of orders and invoices for shares of this animal.
    pub animal: Option<i64>,
    /// Of orders and invoices for animals at this processor.
    pub plant: Option<i64>,
    /// Of this customer.
    pub customer: Option<i64>,
}

impl Behind {
    /// Every line on an account or several.
    pub const fn on(on: On) -> Self {
        Self {
            on,
            from: None,
            to: None,
            side: None,
            with_money: false,
            species: None,
            share: None,
            season: None,
            animal: None,
            plant: None,
            customer: None,
        }
    }
    /// Every line on an account.
    pub const fn account(account: Account) -> Self {
        Self::on(On::One(account))
    }
    /// Every line on several accounts.
    pub const fn group(group: Group) -> Self {
        Self::on(On::All(group))
    }
    /// Of a year's days, or of a season.
    #[must_use]
    pub fn of(mut self, period: &Period) -> Self {
        match period {
            Period::Season(name) => self.season = Some(name.clone()),
            Period::Year(_) => (self.from, self.to) = period.days().unzip(),
        }
        self
    }
    /// Between two days, both counted.
    #[must_use]
    pub fn between(mut self, from: NaiveDate, to: NaiveDate) -> Self {
        (self.from, self.to) = (Some(from), Some(to));
        self
    }
    /// Up to the end of a day.
    #[must_use]
    pub fn up_to(mut self, day: NaiveDate) -> Self {
        (self.from, self.to) = (None, Some(day));
        self
    }
    /// On one side.
    #[must_use]
    pub fn side(mut self, side: Half) -> Self {
        self.side = Some(side);
        self
    }
    /// Of entries that move money in hand.
    #[must_use]
    pub fn with_money(mut self) -> Self {
        self.with_money = true;
        self
    }
    /// Of a species.
    #[must_use]
    pub fn species(mut self, species: Species) -> Self {
        self.species = Some(species);
        self
    }

    /// The sum of the lines, debits less credits, as people read it: what is owed and earned, and what money came in for, turned
    /// around.
    pub const fn read(&self, debits_less_credits: Money) -> Money {
        let brought = self.with_money && !matches!(self.on, On::All(Group::Money));
        if brought || self.on.is_turned() { debits_less_credits.negated() } else { debits_less_credits }
    }

    /// What stands in an address, and [`Self::asked`] reads.
    pub fn pairs(&self) -> Vec<(&'static str, String)> {
        let mut all = vec![("account", self.on.to_string())];
        let mut add = |name, value: Option<String>| all.extend(value.map(|v| (name, v)));
        add("from", self.from.map(|d| d.to_string()));
        add("day", self.to.map(|d| d.to_string()));
        add("side", self.side.map(|s| s.to_string()));
        add("with", self.with_money.then(|| "money".to_string()));
        add("species", self.species.map(|s| s.to_string()));
        add("share", self.share.map(|s| s.to_string()));
        add("season", self.season.clone());
        add("animal", self.animal.map(|n| n.to_string()));
        add("plant", self.plant.map(|n| n.to_string()));
        add("customer", self.customer.map(|n| n.to_string()));
        all
    }
    /// Reads what stands in an address; `None` without an account. What cannot be read counts as left out.
    pub fn asked<'a>(get: impl Fn(&str) -> Option<&'a str>) -> Option<Self> {
        fn read<T: FromStr>(text: Option<&str>) -> Option<T> {
            text?.parse().ok()
        }
        Some(Self {
            on: read(get("account"))?,
            from: read(get("from")),
            to: read(get("day")),
            side: read(get("side")),
            with_money: get("with") == Some("money"),
            species: read(get("species")),
            share: read(get("share")),
            season: get("season").map(str::to_string),
            animal: read(get("animal")),
            plant: read(get("plant")),
            customer: read(get("customer")),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::{BTreeSet, HashMap};

    #[test]
    fn what_is_asked_reads_back() {
        let mut all =
            Behind::group(Group::Earned).of(&Period::Year(2027)).side(Half::Credit).with_money().species(Species::Hog);
        (all.share, all.season) = (Some(Size::Half), Some("Fall & Spring".into()));
        (all.animal, all.plant, all.customer) = (Some(3), Some(4), Some(5));
        for one in [
            all,
            Behind::account(Account::Deposits),
            Behind::account(Account::Deposits).up_to("2027-01-31".parse().unwrap()),
        ] {
            let pairs: HashMap<&str, String> = one.pairs().into_iter().collect();
            assert_eq!(Behind::asked(|name| pairs.get(name).map(String::as_str)), Some(one));
        }
        assert_eq!(Behind::asked(|_| None), None);
    }

    #[test]
    fn an_account_and_a_group_are_never_called_the_same() {
        let names: BTreeSet<&str> = Account::ALL.iter().map(|a| a.as_str()).collect();
        assert!(Group::ALL.iter().all(|g| !names.contains(g.as_str())));
    }

    #[test]
    fn money_in_hand_is_split_whole_by_what_it_was_for() {
        // Every account is in hand, on invoices, on orders or the customers' own, and in one of them only.
        let parts = [Group::Money, Group::OnInvoices, Group::OnOrders, Group::Theirs];
        for account in Account::ALL {
            let held = parts.iter().filter(|g| g.accounts().contains(account)).count();
            assert_eq!(held, 1, "{account}");
        }
    }

    #[test]
    fn a_sum_is_read_as_people_say_it() {
        let ten = Money::from_cents(10);
        let sign = |b: Behind| b.read(ten).cents();
        assert_eq!(sign(Behind::account(Account::Checks)), 10);
        assert_eq!(sign(Behind::account(Account::Receivable)), 10);
        assert_eq!(sign(Behind::account(Account::WriteOffs)), 10);
        assert_eq!(sign(Behind::account(Account::Deposits)), -10);
        assert_eq!(sign(Behind::account(Account::SalesHog)), -10);
        assert_eq!(sign(Behind::group(Group::Money)), 10);
        assert_eq!(sign(Behind::group(Group::Money).with_money()), 10);
        assert_eq!(sign(Behind::group(Group::Earned)), -10);
        assert_eq!(sign(Behind::group(Group::OnInvoices).with_money()), -10, "a payment brings money");
        assert_eq!(sign(Behind::group(Group::Theirs)), -10);
    }
}
