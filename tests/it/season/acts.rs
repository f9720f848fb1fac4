//! The acts of the random season: each says beforehand by the model whether it may happen, does it in the book, and tells the model.

use super::model::{Invoice, Model, Order, Paid, Target};
use super::{Dice, bank};
use crate::support::TestBook;
use chrono::{NaiveDate, TimeDelta};
use gambrel::actions::bounce_payment::{Bounced, bounce_payment};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::carry_deposit::carry_deposit;
use gambrel::actions::change_order::add_line;
use gambrel::actions::credit_part::{PartCredit, credit_part};
use gambrel::actions::draft_invoice::drafts;
use gambrel::actions::give_back::{give_back, refund_deposit};
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::keep_deposit::{keep_deposit, release_deposit};
use gambrel::actions::record_deposit::{MoneyIn, record_deposit};
use gambrel::actions::record_payment::{record_payment, use_credit};
use gambrel::actions::transfer_share::transfer_share;
use gambrel::actions::void_invoice::void_invoice;
use gambrel::actions::write_off::write_off;
use gambrel::actions::{Doing, Failure};
use gambrel::book::ids::{InvoiceId, OfferingId, ProcessorId};
use gambrel::book::store::Tx;
use gambrel::book::{farm, invoices, reservations};
use gambrel::trade::animal::Class;
use gambrel::trade::money::{Money, Percent};
use gambrel::trade::share::{Side, Size};
use gambrel::trade::vocabulary::{DepositFate, PayMethod};

/// How many kinds of act there are.
pub(super) const KINDS: usize = 24;

pub(super) struct Season<'b> {
    pub(super) book: &'b TestBook,
    pub(super) model: Model,
    pub(super) dice: Dice,
    pub(super) plant: ProcessorId,
    pub(super) offering: OfferingId,
    pub(super) began: NaiveDate,
}

pub(super) fn usd(cents: i64) -> Money {
    Money::from_cents(cents)
}

impl Season<'_> {
    /// Does something; what, and whether it happened.
    pub(super) fn act(&mut self) -> (&'static str, bool) {
        let kind = if self.model.orders.len() < 3 { 0 } else { self.dice.below(33) };
        match kind {
            0 => ("take", self.take()),
            1 | 2 => ("deposit", self.deposit()),
            3 | 4 => ("weigh", self.weigh()),
            5 | 6 => ("issue", self.issue()),
            7 | 8 => ("payment", self.payment()),
            9 => ("use credit", self.use_credit()),
            10 => ("give back", self.give_back()),
            11 | 12 => ("refund deposit", self.refund_deposit()),
            13 => ("carry", self.carry()),
            14 => ("cancel", self.cancel()),
            15 | 16 => ("keep", self.keep()),
            17 => ("release", self.release()),
            18 => ("write off", self.write_off()),
            19 | 20 => ("bounce", self.bounce()),
            21 => ("transfer", self.transfer()),
            22 => ("void", self.void()),
            23 => ("part credit", self.part_credit()),
            _ if kind >= 25 => bank::act(self, kind),
            _ => {
                if self.dice.below(2) == 0 {
                    ("line", self.line())
                } else {
                    ("foreign invoice", self.foreign())
                }
            }
        }
    }

    /// Does it in the book; it must go as the model says.
    #[track_caller]
    pub(super) fn go<T: std::fmt::Debug>(
        &self,
        may: bool,
        act: impl Fn(&mut Tx, &Doing) -> Result<T, Failure>,
    ) -> Option<T> {
        match (self.book.try_act(act), may) {
            (Ok(done), true) => Some(done),
            (Err(Failure::Refused(_) | Failure::NotFound), false) => None,
            (outcome, _) => panic!("the model says {may}, the book {outcome:?}"),
        }
    }
    pub(super) fn any_order(&mut self) -> usize {
        self.dice.below(self.model.orders.len())
    }
    /// Mostly a good invoice, if there is any.
    pub(super) fn any_invoice(&mut self) -> Option<usize> {
        let good: Vec<usize> = (0..self.model.invoices.len()).filter(|n| !self.model.invoices[*n].voided).collect();
        let all = self.model.invoices.len();
        match (good.is_empty(), all, self.dice.below(6)) {
            (_, 0, _) => None,
            (true, ..) | (_, _, 0) => Some(self.dice.below(all)),
            _ => Some(good[self.dice.below(good.len())]),
        }
    }
    pub(super) fn today(&self) -> NaiveDate {
        self.book.now().today
    }
    pub(super) fn days(&self, day: NaiveDate) -> i64 {
        (day - self.began).num_days()
    }
    fn version(&self, order: usize) -> i64 {
        let id = self.model.orders[order].id;
        self.book.read(|c| Ok(reservations::get(c, id)?.0.version))
    }
    /// Money; seldom of a day to come, which is refused.
    pub(super) fn money(&mut self, cents: i64) -> (MoneyIn, bool) {
        let method = PayMethod::ALL[self.dice.below(PayMethod::ALL.len())];
        let early = if self.dice.below(20) == 0 { -1 } else { self.dice.below(4) as i64 };
        let received_on = self.today() - TimeDelta::days(early);
        let money = MoneyIn { method, amount: usd(cents), received_on, reference: String::new(), note: String::new() };
        (money, cents > 0 && early >= 0)
    }
    pub(super) fn paid(&mut self, who: usize, money: &MoneyIn, sign: i64) -> usize {
        let paid = Paid {
            id: None,
            who,
            method: money.method,
            day: self.days(money.received_on),
            cents: sign * money.amount.cents(),
            bounced: false,
            undoes: false,
            moved: false,
            nobodys: false,
            puts: Vec::new(),
        };
        self.model.payments.push(paid);
        self.model.payments.len() - 1
    }

    fn take(&mut self) -> bool {
        let who = self.dice.below(self.model.people.len());
        let id = self.book.order(self.model.people[who], self.offering, Size::Half);
        self.model.orders.push(Order { id, who, cancelled: false, weighed: false, lines: 0 });
        true
    }

    fn deposit(&mut self) -> bool {
        let order = self.any_order();
        let cents = self.dice.cents(15_000);
        let (money, good) = self.money(cents);
        let id = self.model.orders[order].id;
        let may = good && self.model.is_open(order);
        let done = self.go(may, |tx, doing| record_deposit(tx, doing, id, &money, false)).is_some();
        if done {
            let payment = self.paid(self.model.orders[order].who, &money, 1);
            self.model.put(payment, Target::Order(order), cents);
        }
        done
    }

    fn weigh(&mut self) -> bool {
        let Some(order) =
            (0..self.model.orders.len()).find(|n| self.model.is_open(*n) && !self.model.orders[*n].weighed)
        else {
            return self.take();
        };
        let (date, tag) = (self.book.date(self.plant, &self.today().to_string()), format!("h{order}"));
        let head = self.book.head(Class::Barrow, &tag, date);
        self.book.place(self.model.orders[order].id, head, Side::Left);
        let weight = format!("{}.{}", 70 + self.dice.below(30), self.dice.below(10));
        self.book.weigh(date, head, &weight, &weight);
        self.model.orders[order].weighed = true;
        true
    }

    fn issue(&mut self) -> bool {
        let order = self.any_order();
        let id = self.model.orders[order].id;
        let may = self.model.is_open(order) && self.model.orders[order].weighed;
        let now = self.book.now();
        let balance = self.book.read(|c| {
            let farm = farm::get(c)?;
            Ok(drafts(c, &farm, now, &[id])?[0].ready())
        });
        let shown = balance.unwrap_or_default();
        let wrong = may && self.dice.below(10) == 0;
        let shown = if wrong { usd(shown.cents() + 1) } else { shown };
        let done = self.go(may && !wrong, |tx, doing| issue_invoices(tx, doing, &[(id, shown)], false));
        let Some(issued) = done.map(|ids| ids[0]) else { return false };
        let row = self.book.read(|c| Ok(invoices::get(c, issued)?.0));
        let total = row.farm_total.cents() + row.farm_tax.cents();
        let who = self.model.orders[order].who;
        self.model.invoices.push(Invoice {
            id: issued,
            order,
            who,
            total,
            written_off: 0,
            credited: 0,
            charged: 0,
            voided: false,
        });
        let invoice = self.model.invoices.len() - 1;
        let mut room = total;
        for (payment, cents) in self.model.parts(Target::Order(order)) {
            self.model.put(payment, Target::Order(order), -cents);
            self.model.put(payment, Target::Invoice(invoice), cents.min(room));
            room -= cents.min(room);
        }
        true
    }

    fn payment(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.deposit() };
        let (id, who) = (self.model.invoices[invoice].id, self.model.invoices[invoice].who);
        let owed = self.model.owed(invoice);
        let part = self.dice.cents(owed.max(0));
        let cents = part + if self.dice.below(2) == 0 { 0 } else { self.dice.below(9_000) as i64 - 1_000 };
        let (money, good) = self.money(cents);
        // A part of nothing is no part, whatever became of the invoice.
        let may = good && part <= cents && (part == 0 || (part <= owed && !self.model.invoices[invoice].voided));
        let customer = self.model.people[who];
        let parts = [(id, usd(part))];
        let done =
            self.go(may, |tx, doing| record_payment(tx, doing, customer, &money, &parts, false, false)).is_some();
        if done {
            let payment = self.paid(who, &money, 1);
            self.model.put(payment, Target::Invoice(invoice), part);
        }
        done
    }

    /// A payment for an invoice of somebody else.
    fn foreign(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.give_back_as("foreign") };
        let (id, owner) = (self.model.invoices[invoice].id, self.model.invoices[invoice].who);
        let who = if self.dice.below(3) == 0 { owner } else { self.dice.below(self.model.people.len()) };
        let owed = self.model.owed(invoice);
        let (money, good) = self.money(100);
        let may = good && who == owner && owed >= 100 && !self.model.invoices[invoice].voided;
        let customer = self.model.people[who];
        let parts = [(id, usd(100))];
        let done = self.go(may, |tx, doing| record_payment(tx, doing, customer, &money, &parts, true, false)).is_some();
        if done {
            let payment = self.paid(who, &money, 1);
            self.model.put(payment, Target::Invoice(invoice), 100);
        }
        done
    }

    fn use_credit(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.deposit() };
        let (id, who) = (self.model.invoices[invoice].id, self.model.invoices[invoice].who);
        let credit = self.model.credit(who);
        let cents = self.dice.cents(credit.min(self.model.owed(invoice)).max(0));
        let may =
            cents > 0 && cents <= credit && cents <= self.model.owed(invoice) && !self.model.invoices[invoice].voided;
        let customer = self.model.people[who];
        let done = self.go(may, |tx, doing| use_credit(tx, doing, customer, id, usd(cents))).is_some();
        if done {
            self.model.use_credit(who, Target::Invoice(invoice), cents);
        }
        done
    }

    fn give_back(&mut self) -> bool {
        self.give_back_as("give back")
    }

    fn give_back_as(&mut self, _why: &str) -> bool {
        let who = self.dice.below(self.model.people.len());
        let credit = self.model.credit(who);
        let cents = self.dice.cents(credit);
        let (money, good) = self.money(cents);
        let customer = self.model.people[who];
        let may = good && cents <= credit;
        let done = self.go(may, |tx, doing| give_back(tx, doing, customer, &money, false)).is_some();
        if done {
            self.paid(who, &money, -1);
        }
        done
    }

    fn refund_deposit(&mut self) -> bool {
        let order = self.any_with_deposit();
        let (id, held) = (self.model.orders[order].id, self.model.stands(Target::Order(order)));
        let cents = self.dice.cents(held);
        let (money, good) = self.money(cents);
        let may = good && self.model.is_open(order) && cents <= held;
        let done = self.go(may, |tx, doing| refund_deposit(tx, doing, id, &money, false)).is_some();
        if done {
            self.model.shift(Target::Order(order), None, cents);
            self.paid(self.model.orders[order].who, &money, -1);
        }
        done
    }

    /// Mostly an open order with a deposit, if there is any.
    fn any_with_deposit(&mut self) -> usize {
        let all: Vec<usize> = (0..self.model.orders.len())
            .filter(|n| self.model.is_open(*n) && self.model.stands(Target::Order(*n)) > 0)
            .collect();
        if all.is_empty() || self.dice.below(4) == 0 { self.any_order() } else { all[self.dice.below(all.len())] }
    }

    fn carry(&mut self) -> bool {
        let from = self.any_with_deposit();
        let who = self.model.orders[from].who;
        let others: Vec<usize> = (0..self.model.orders.len()).filter(|n| self.model.orders[*n].who == who).collect();
        let to = others[self.dice.below(others.len())];
        let held = self.model.stands(Target::Order(from));
        let cents = self.dice.cents(held);
        let may = from != to && self.model.is_open(from) && self.model.is_open(to) && cents > 0 && cents <= held;
        let (a, b) = (self.model.orders[from].id, self.model.orders[to].id);
        let done = self.go(may, |tx, doing| carry_deposit(tx, doing, a, b, usd(cents))).is_some();
        if done {
            self.model.shift(Target::Order(from), Some(Target::Order(to)), cents);
        }
        done
    }

    fn cancel(&mut self) -> bool {
        let order = self.any_order();
        let fate = DepositFate::ALL[self.dice.below(DepositFate::ALL.len())];
        let to = self.any_order();
        let held = self.model.stands(Target::Order(order));
        let can_carry =
            to != order && self.model.is_open(to) && self.model.orders[to].who == self.model.orders[order].who;
        let may = self.model.is_open(order)
            && (held == 0
                || match fate {
                    DepositFate::None => false,
                    DepositFate::Carry => can_carry,
                    DepositFate::Refund | DepositFate::Keep => true,
                });
        let input = Cancel {
            version: self.version(order),
            reason: "No room".into(),
            fate,
            carry_to: Some(self.model.orders[to].id),
        };
        let id = self.model.orders[order].id;
        let done = self.go(may, |tx, doing| cancel_reservation(tx, doing, id, &input)).is_some();
        if done {
            self.model.orders[order].cancelled = true;
            match fate {
                DepositFate::Refund => self.model.shift(Target::Order(order), None, held),
                DepositFate::Carry => self.model.shift(Target::Order(order), Some(Target::Order(to)), held),
                DepositFate::None | DepositFate::Keep => {}
            }
        }
        done
    }

    /// Mostly a cancelled order, if there is any.
    fn any_cancelled(&mut self) -> usize {
        let all: Vec<usize> = (0..self.model.orders.len()).filter(|n| self.model.orders[*n].cancelled).collect();
        if all.is_empty() || self.dice.below(5) == 0 { self.any_order() } else { all[self.dice.below(all.len())] }
    }

    fn keep(&mut self) -> bool {
        let order = self.any_cancelled();
        let who = self.model.orders[order].who;
        let credit = self.model.credit(who);
        let cents = self.dice.cents(credit);
        let may = self.model.orders[order].cancelled && cents > 0 && cents <= credit;
        let (id, version) = (self.model.orders[order].id, self.version(order));
        let done = self.go(may, |tx, doing| keep_deposit(tx, doing, id, version, usd(cents), "No show")).is_some();
        if done {
            self.model.use_credit(who, Target::Order(order), cents);
        }
        done
    }

    fn release(&mut self) -> bool {
        let order = self.any_cancelled();
        let kept = self.model.stands(Target::Order(order));
        let cents = self.dice.cents(kept);
        let may = self.model.orders[order].cancelled && cents > 0 && cents <= kept;
        let (id, version) = (self.model.orders[order].id, self.version(order));
        let done = self.go(may, |tx, doing| release_deposit(tx, doing, id, version, usd(cents), "Goodwill")).is_some();
        if done {
            self.model.shift(Target::Order(order), None, cents);
        }
        done
    }

    fn write_off(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.deposit() };
        let (id, owed) = (self.model.invoices[invoice].id, self.model.owed(invoice));
        let cents = self.dice.cents(owed.clamp(0, 2_000));
        let may = cents > 0 && cents <= owed && !self.model.invoices[invoice].voided;
        let done = self.go(may, |tx, doing| write_off(tx, doing, id, usd(cents), "Not worth the stamp")).is_some();
        if done {
            self.model.invoices[invoice].written_off += cents;
        }
        done
    }

    fn part_credit(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.deposit() };
        let i = self.model.invoices[invoice].clone();
        let left = (i.total - i.written_off).max(0);
        let cents = self.dice.cents(left.min(6_000));
        let may = cents > 0 && cents <= left && !i.voided;
        let input = PartCredit { amount: usd(cents), tax: usd(0), reason: "Short of a roast".into() };
        let done = self.go(may, |tx, doing| credit_part(tx, doing, i.id, &input, false)).is_some();
        if done {
            let over = -(self.model.owed(invoice) - cents).min(0);
            self.model.invoices[invoice].written_off += cents;
            self.model.invoices[invoice].credited += cents;
            self.model.shift(Target::Invoice(invoice), None, over);
        }
        done
    }

    fn bounce(&mut self) -> bool {
        if self.model.payments.is_empty() {
            return self.deposit();
        }
        let n = self.dice.below(self.model.payments.len());
        let p = self.model.payments[n].clone();
        let charge = if self.dice.below(3) == 0 { 2_500 } else { 0 };
        let puts: Vec<(Target, i64)> = p.puts.iter().copied().filter(|(_, cents)| *cents > 0).collect();
        let on = puts
            .iter()
            .find_map(|(t, _)| matches!(t, Target::Invoice(_)).then_some(*t))
            .or_else(|| puts.iter().map(|(t, _)| *t).find(|t| matches!(t, Target::Order(o) if self.model.is_open(*o))));
        let put: i64 = puts.iter().map(|(_, cents)| cents).sum();
        let may = p.cents > 0
            && p.method != PayMethod::Cash
            && !p.bounced
            && !p.moved
            && self.model.credit(p.who) + put - p.cents >= 0
            && (charge == 0 || on.is_some());
        let id = p.id.unwrap();
        let input = Bounced { day: self.today(), reason: String::new(), charge: (charge > 0).then_some(usd(charge)) };
        let done = self.go(may, |tx, doing| bounce_payment(tx, doing, id, &input)).is_some();
        if done {
            for (target, cents) in puts {
                self.model.put(n, target, -cents);
            }
            self.model.payments[n].bounced = true;
            let back = Paid {
                id: None,
                cents: -p.cents,
                day: self.days(self.today()),
                undoes: true,
                nobodys: false,
                puts: Vec::new(),
                ..p
            };
            self.model.payments.push(back);
            match on.filter(|_| charge > 0) {
                Some(Target::Invoice(i)) => self.model.invoices[i].charged += charge,
                Some(Target::Order(o)) => self.model.orders[o].lines += 1,
                None => {}
            }
        }
        done
    }

    fn transfer(&mut self) -> bool {
        let (order, to) = (self.any_order(), self.dice.below(self.model.people.len()));
        let (from, held) = (self.model.orders[order].who, self.model.stands(Target::Order(order)));
        let may = self.model.is_open(order) && from != to;
        let along = self.dice.below(2) == 0;
        let (id, version, taker) = (self.model.orders[order].id, self.version(order), self.model.people[to]);
        let done = self.go(may, |tx, doing| transfer_share(tx, doing, id, version, taker, along)).is_some();
        if done {
            self.model.shift(Target::Order(order), None, held);
            self.model.orders[order].who = to;
            if along && held > 0 {
                let money = MoneyIn {
                    method: PayMethod::Other,
                    amount: usd(held),
                    received_on: self.today(),
                    reference: String::new(),
                    note: String::new(),
                };
                let first = self.paid(from, &money, -1);
                let second = self.paid(to, &money, 1);
                self.model.payments[first].moved = true;
                self.model.payments[second].moved = true;
                self.model.put(second, Target::Order(order), held);
            }
        }
        done
    }

    fn void(&mut self) -> bool {
        let Some(invoice) = self.any_invoice() else { return self.deposit() };
        let id: InvoiceId = self.model.invoices[invoice].id;
        let reason = if self.dice.below(4) == 0 { "" } else { "Wrong weight" };
        let may = !self.model.invoices[invoice].voided && !reason.is_empty();
        let done = self.go(may, |tx, doing| void_invoice(tx, doing, id, reason, false)).is_some();
        if done {
            let (from, order) = (Target::Invoice(invoice), self.model.invoices[invoice].order);
            let there = self.model.stands(from);
            self.model.shift(from, Some(Target::Order(order)), there);
            self.model.invoices[invoice].voided = true;
        }
        done
    }

    fn line(&mut self) -> bool {
        let order = self.any_order();
        let id = self.model.orders[order].id;
        let cents = if self.dice.below(2) == 0 { 1_500 } else { -500 };
        let may = self.model.is_open(order) && self.model.orders[order].lines < 20;
        if !may {
            return self.take();
        }
        let percent = Percent::from_thousandths(5_500);
        self.go(true, |tx, doing| add_line(tx, doing, id, "Delivery or discount", usd(cents), percent));
        self.model.orders[order].lines += 1;
        true
    }
}
