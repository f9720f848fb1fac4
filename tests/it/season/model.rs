//! The simple model: who paid what, and what it stands for. It knows no accounts, no double entry and no database.

use gambrel::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId, UnmatchedId};
use gambrel::book::ledger::documents::Balances;
use gambrel::trade::ledger::{Account, Place};
use gambrel::trade::vocabulary::PayMethod;

/// What money stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    Order(usize),
    Invoice(usize),
}

#[derive(Debug, Clone)]
pub(super) struct Paid {
    pub(super) id: Option<PaymentId>,
    pub(super) who: usize,
    pub(super) method: PayMethod,
    /// Days from the beginning.
    pub(super) day: i64,
    /// Cents; below zero when given back.
    pub(super) cents: i64,
    /// Taken back by the bank.
    pub(super) bounced: bool,
    /// The refund that undoes another payment.
    pub(super) undoes: bool,
    /// Only went from one customer to another.
    pub(super) moved: bool,
    /// Came in when nobody knew whose it was.
    pub(super) nobodys: bool,
    /// What of it stands for what, in the order in which it was first put there.
    pub(super) puts: Vec<(Target, i64)>,
}

/// Money that came in and nobody knew from whom.
#[derive(Debug, Clone)]
pub(super) struct Nobody {
    pub(super) id: UnmatchedId,
    pub(super) method: PayMethod,
    pub(super) day: i64,
    pub(super) cents: i64,
    pub(super) matched: bool,
    pub(super) back: Option<PayMethod>,
}

#[derive(Debug, Clone)]
pub(super) struct Order {
    pub(super) id: ReservationId,
    pub(super) who: usize,
    pub(super) cancelled: bool,
    pub(super) weighed: bool,
    pub(super) lines: usize,
}

#[derive(Debug, Clone)]
pub(super) struct Invoice {
    pub(super) id: InvoiceId,
    pub(super) order: usize,
    pub(super) who: usize,
    pub(super) total: i64,
    /// Written off or taken back by a credit note for a part.
    pub(super) written_off: i64,
    /// Of it, taken back by a credit note.
    pub(super) credited: i64,
    pub(super) charged: i64,
    pub(super) voided: bool,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Model {
    pub(super) people: Vec<CustomerId>,
    pub(super) orders: Vec<Order>,
    pub(super) invoices: Vec<Invoice>,
    pub(super) payments: Vec<Paid>,
    pub(super) nobodys: Vec<Nobody>,
    /// Statements that were sent.
    pub(super) statements: usize,
}

impl Model {
    pub(super) fn put(&mut self, payment: usize, target: Target, cents: i64) {
        let puts = &mut self.payments[payment].puts;
        match puts.iter_mut().find(|(t, _)| *t == target) {
            Some((_, sum)) => *sum += cents,
            None if cents != 0 => puts.push((target, cents)),
            None => {}
        }
    }
    /// The payments that stand for something, oldest first.
    pub(super) fn parts(&self, target: Target) -> Vec<(usize, i64)> {
        let mut all: Vec<(usize, i64)> = Vec::new();
        for (n, p) in self.payments.iter().enumerate() {
            all.extend(p.puts.iter().filter(|(t, cents)| *t == target && *cents > 0).map(|(_, cents)| (n, *cents)));
        }
        all.sort_by_key(|(n, _)| (self.payments[*n].day, *n));
        all
    }
    pub(super) fn stands(&self, target: Target) -> i64 {
        self.parts(target).iter().map(|(_, cents)| cents).sum()
    }
    /// Moves money from one thing to another or back to credit, the oldest first.
    pub(super) fn shift(&mut self, from: Target, to: Option<Target>, cents: i64) {
        let mut left = cents;
        for (payment, there) in self.parts(from) {
            let now = left.min(there);
            self.put(payment, from, -now);
            if let Some(to) = to {
                self.put(payment, to, now);
            }
            left -= now;
        }
        assert_eq!(left, 0);
    }
    /// The credit of a customer, payment by payment: refunds have taken from the oldest.
    pub(super) fn free(&self, who: usize) -> Vec<(usize, i64)> {
        let mine = || self.payments.iter().enumerate().filter(move |(_, p)| p.who == who);
        let mut given: i64 = mine().filter(|(_, p)| p.cents < 0 && !p.undoes).map(|(_, p)| -p.cents).sum();
        let mut out = Vec::new();
        for (n, p) in mine().filter(|(_, p)| p.cents > 0 && !p.bounced) {
            let free = p.cents - p.puts.iter().map(|(_, cents)| cents).sum::<i64>();
            let taken = free.min(given);
            given -= taken;
            if free > taken {
                out.push((n, free - taken));
            }
        }
        out
    }
    pub(super) fn credit(&self, who: usize) -> i64 {
        self.free(who).iter().map(|(_, cents)| cents).sum()
    }
    pub(super) fn use_credit(&mut self, who: usize, target: Target, cents: i64) {
        let mut left = cents;
        for (payment, there) in self.free(who) {
            let now = left.min(there);
            self.put(payment, target, now);
            left -= now;
        }
        assert_eq!(left, 0);
    }
    pub(super) fn good_invoice(&self, order: usize) -> Option<usize> {
        self.invoices.iter().position(|i| i.order == order && !i.voided)
    }
    pub(super) fn is_open(&self, order: usize) -> bool {
        !self.orders[order].cancelled && self.good_invoice(order).is_none()
    }
    pub(super) fn owed(&self, invoice: usize) -> i64 {
        let i = &self.invoices[invoice];
        if i.voided { 0 } else { i.total + i.charged - i.written_off - self.stands(Target::Invoice(invoice)) }
    }

    /// What the ledger must say on the accounts that the model knows.
    pub(super) fn balances(&self) -> Balances {
        let mut out = Balances::new();
        let mut add = |account, who: usize, order: Option<i64>, invoice: Option<i64>, cents: i64| {
            let place = Place { account, customer: Some(self.people[who].0), order, invoice };
            *out.entry(place).or_default() += cents;
        };
        for p in self.payments.iter().filter(|p| !p.moved && !p.nobodys) {
            add(Account::of_money(p.method), p.who, None, None, p.cents);
        }
        for who in 0..self.people.len() {
            add(Account::Credit, who, None, None, -self.credit(who));
        }
        for (n, o) in self.orders.iter().enumerate() {
            let account = if o.cancelled { Account::Forfeited } else { Account::Deposits };
            add(account, o.who, Some(o.id.0), None, -self.stands(Target::Order(n)));
        }
        for (n, i) in self.invoices.iter().enumerate() {
            add(Account::Receivable, i.who, None, Some(i.id.0), self.owed(n));
            let written_off = if i.voided { 0 } else { i.written_off - i.credited };
            add(Account::WriteOffs, i.who, None, Some(i.id.0), written_off);
        }
        for n in &self.nobodys {
            let mut add = |account, cents: i64| {
                *out.entry(Place { account, customer: None, order: None, invoice: None }).or_default() += cents;
            };
            add(Account::of_money(n.method), n.cents);
            match (n.matched, n.back) {
                (true, _) => {}
                (false, Some(how)) => add(Account::of_money(how), -n.cents),
                (false, None) => add(Account::NotMatched, -n.cents),
            }
        }
        out.retain(|_, cents| *cents != 0);
        out
    }
}

/// The accounts the model says something about.
pub(super) fn known(account: Account) -> bool {
    !matches!(
        account,
        Account::Tax
            | Account::SalesBeef
            | Account::SalesHog
            | Account::SalesLamb
            | Account::SalesGoat
            | Account::FarmCharges
            | Account::PlantCharges
            | Account::Discounts
    )
}
