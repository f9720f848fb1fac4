//! The acts of the random season about money nobody knows and about the bank.

use super::acts::{Season, usd};
use super::model::{Nobody, Target};
use crate::bank::read_table;
use gambrel::actions::bank_line::{book_line, set_line_aside};
use gambrel::actions::deposit_slip::{SlipIn, make_slip, on_hand};
use gambrel::actions::record_deposit::MoneyIn;
use gambrel::actions::unmatched_money::{
    ForWhat, GivenBack, MatchTo, give_back_unmatched, match_money, record_unmatched,
};
use gambrel::book::bank;
use gambrel::trade::vocabulary::PayMethod;

/// Does something of that kind; what, and whether it happened.
pub(super) fn act(season: &mut Season, kind: usize) -> (&'static str, bool) {
    match kind {
        25 | 26 => ("not matched", not_matched(season)),
        27..=29 => ("match", matched(season)),
        30 => ("give back not matched", back(season)),
        31 => ("bank line", bank_line(season)),
        _ => ("slip", slip(season)),
    }
}

fn not_matched(s: &mut Season) -> bool {
    let cents = s.dice.cents(20_000);
    let (money, may) = s.money(cents);
    let id = s.go(may, |tx, doing| record_unmatched(tx, doing, &money, "No name on it"));
    let Some(id) = id else { return false };
    let (method, day) = (money.method, s.days(money.received_on));
    s.model.nobodys.push(Nobody { id, method, day, cents, matched: false, back: None });
    true
}

/// Mostly money that waits, if there is any.
fn any(s: &mut Season) -> Option<usize> {
    let waits = |n: &Nobody| !n.matched && n.back.is_none();
    let open: Vec<usize> = (0..s.model.nobodys.len()).filter(|n| waits(&s.model.nobodys[*n])).collect();
    match (open.is_empty(), s.model.nobodys.len()) {
        (_, 0) => None,
        (true, all) => Some(s.dice.below(all)),
        (false, all) if s.dice.below(4) == 0 => Some(s.dice.below(all)),
        _ => Some(open[s.dice.below(open.len())]),
    }
}

fn matched(s: &mut Season) -> bool {
    let Some(n) = any(s) else { return not_matched(s) };
    let nobody = s.model.nobodys[n].clone();
    let waits = !nobody.matched && nobody.back.is_none();
    let invoice = if s.dice.below(2) == 0 { s.any_invoice() } else { None };
    let (to, may, who, target, part) = match invoice {
        Some(i) => {
            let (id, who, owed) = (s.model.invoices[i].id, s.model.invoices[i].who, s.model.owed(i));
            let part = s.dice.cents(owed.max(0)).min(nobody.cents + 50);
            let fits = part == 0 || (part <= owed && part <= nobody.cents && !s.model.invoices[i].voided);
            let to = MatchTo::Customer(s.model.people[who], vec![(id, usd(part))]);
            (to, waits && fits, who, Target::Invoice(i), part)
        }
        None => {
            let order = s.any_order();
            let to = MatchTo::Order(s.model.orders[order].id);
            let may = waits && s.model.is_open(order);
            (to, may, s.model.orders[order].who, Target::Order(order), nobody.cents)
        }
    };
    let done = s.go(may, |tx, doing| match_money(tx, doing, nobody.id, &to, false)).is_some();
    if done {
        let received_on = s.began + chrono::TimeDelta::days(nobody.day);
        let money = MoneyIn {
            method: nobody.method,
            amount: usd(nobody.cents),
            received_on,
            reference: String::new(),
            note: String::new(),
        };
        let payment = s.paid(who, &money, 1);
        s.model.payments[payment].nobodys = true;
        s.model.put(payment, target, part);
        s.model.nobodys[n].matched = true;
    }
    done
}

fn back(s: &mut Season) -> bool {
    let Some(n) = any(s) else { return not_matched(s) };
    let nobody = s.model.nobodys[n].clone();
    let method = PayMethod::ALL[s.dice.below(PayMethod::ALL.len())];
    let late = s.dice.below(6) == 0;
    let day = s.today() + chrono::TimeDelta::days(i64::from(late));
    let may = !nobody.matched && nobody.back.is_none() && !late;
    let input = GivenBack { method, day, words: String::new() };
    let done = s.go(may, |tx, doing| give_back_unmatched(tx, doing, nobody.id, &input)).is_some();
    if done {
        s.model.nobodys[n].back = Some(method);
    }
    done
}

/// A statement of one line, which is booked as the deposit of an order, or set aside when that is refused.
fn bank_line(s: &mut Season) -> bool {
    let (order, cents, today) = (s.any_order(), 1 + s.dice.below(20_000) as i64, s.today());
    let words = format!("Line {}", s.model.statements);
    s.model.statements += 1;
    read_table(s.book, &format!("Date,Description,Amount\n{today},{words},{}\n", usd(cents).plain()));
    let line = s.book.read(|c| Ok(bank::untied(c, None, 1)?))[0].id;
    let (id, may) = (s.model.orders[order].id, s.model.is_open(order));
    let method = PayMethod::ALL[s.dice.below(PayMethod::ALL.len())];
    let booked = s.go(may, |tx, doing| book_line(tx, doing, line, ForWhat::Order(id), method, false)).is_some();
    if booked {
        let money =
            MoneyIn { method, amount: usd(cents), received_on: today, reference: String::new(), note: String::new() };
        let payment = s.paid(s.model.orders[order].who, &money, 1);
        s.model.put(payment, Target::Order(order), cents);
    } else {
        s.go(true, |tx, doing| set_line_aside(tx, doing, line, ""));
    }
    booked
}

/// A slip of some of the cash and checks on hand; now and then of none, or with cash that differs.
fn slip(s: &mut Season) -> bool {
    let today = s.today();
    let hand = s.book.read(|c| on_hand(c, today));
    let most = if s.dice.below(6) == 0 { 0 } else { hand.len().min(30) };
    let some: Vec<_> = hand.iter().take(most).collect();
    let cash: i64 = some.iter().filter(|m| m.method == PayMethod::Cash).map(|m| m.amount.cents()).sum();
    let off = i64::from(s.dice.below(5) == 0);
    let input =
        SlipIn { day: today, cash: usd(cash + off), items: some.iter().map(|m| m.item).collect(), differs: false };
    s.go(!some.is_empty() && off == 0, |tx, doing| make_slip(tx, doing, &input)).is_some()
}
