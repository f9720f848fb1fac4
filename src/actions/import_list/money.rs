//! Payments of a list: deposits on orders, payments of invoices, and credit.

use super::carry::{Fate, Preview};
use super::people::{Found, Known};
use crate::actions::record_deposit::{MoneyIn, record_deposit};
use crate::actions::record_payment::record_payment;
use crate::actions::{Doing, Failure};
use crate::book::ids::{CustomerId, InvoiceId, ReservationId};
use crate::book::imports;
use crate::book::store::Tx;
use crate::trade::dates::full;
use crate::trade::import_file::MoneyLine;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use chrono::NaiveDate;
use std::collections::HashMap;

/// How often the same was received.
type There = HashMap<(CustomerId, NaiveDate, Money, PayMethod, String), usize>;

/// The numbers of papers in the book, and whose they are.
struct Papers {
    orders: HashMap<String, (ReservationId, CustomerId)>,
    invoices: HashMap<String, (InvoiceId, CustomerId)>,
}

/// What a payment is for.
enum For {
    Order(ReservationId),
    Invoice(InvoiceId),
    Credit,
}

fn number(text: &str) -> String {
    text.trim().to_uppercase()
}

impl Papers {
    /// What a line is for; the customer must be the paper's own.
    fn of(&self, line: &MoneyLine, who: CustomerId) -> Result<For, String> {
        let checked = |kind: &str, number: &str, owner: Option<CustomerId>| match owner {
            None => Err(format!(
                "The book has no {kind} {number}. Correct the number, or leave it out: then the money stands as credit."
            )),
            Some(owner) if owner != who => {
                Err(format!("The {kind} {number} is of another customer. Correct one of them."))
            }
            Some(_) => Ok(()),
        };
        if !line.invoice.is_empty() {
            let found = self.invoices.get(&number(&line.invoice));
            checked("invoice", &line.invoice, found.map(|f| f.1))?;
            return Ok(found.map_or(For::Credit, |f| For::Invoice(f.0)));
        }
        if !line.order.is_empty() {
            let found = self.orders.get(&number(&line.order));
            checked("order", &line.order, found.map(|f| f.1))?;
            return Ok(found.map_or(For::Credit, |f| For::Order(f.0)));
        }
        Ok(For::Credit)
    }
}

/// Records those that are not there by customer, day, amount, way and reference.
pub(super) fn carry<'a>(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    lines: impl Iterator<Item = (usize, &'a MoneyLine)>,
) -> Result<(), Failure> {
    let known = Known::read(tx.conn())?;
    let papers = Papers {
        orders: imports::order_numbers(tx.conn())?.into_iter().map(|(n, id, who)| (n, (id, who))).collect(),
        invoices: imports::invoice_numbers(tx.conn())?.into_iter().map(|(n, id, who)| (n, (id, who))).collect(),
    };
    let mut there = There::new();
    for one in imports::received(tx.conn())? {
        let n = there.entry(one).or_default();
        *n = n.saturating_add(1);
    }
    for (line, paid) in lines {
        let said = if paid.who.name.is_empty() { &paid.who.mail } else { &paid.who.name };
        let what = |name: &str| format!("{} from {name}", paid.amount.dollars());
        if paid.given_back {
            all.row(line, Fate::LeftOut, what(said), "It was given back: record it on the customer’s page.");
            continue;
        }
        let (who, name) = match known.find(&paid.who) {
            Found::One(id, name) => (id, name),
            Found::Several(n) => {
                all.fault(
                    line,
                    format!("{n} customers could be meant. Write the mail address or the phone of the one."),
                );
                continue;
            }
            Found::Nobody => {
                all.fault(
                    line,
                    format!("Nobody in the book is “{said}”. Take the list of customers first, or correct it."),
                );
                continue;
            }
        };
        let key = (who, paid.on, paid.amount, paid.method, paid.reference.clone());
        if let Some(n) = there.get_mut(&key).filter(|n| **n > 0) {
            *n = n.saturating_sub(1);
            all.row(line, Fate::There, what(&name), "Nothing is changed.");
            continue;
        }
        let aim = match papers.of(paid, who) {
            Ok(aim) => aim,
            Err(says) => {
                all.fault(line, says);
                continue;
            }
        };
        let money = MoneyIn {
            method: paid.method,
            amount: paid.amount,
            received_on: paid.on,
            reference: paid.reference.clone(),
            note: paid.note.clone(),
        };
        let words = match aim {
            For::Order(_) => format!("deposit on order {}", number(&paid.order)),
            For::Invoice(_) => format!("invoice {}", number(&paid.invoice)),
            For::Credit => "stands as credit".to_string(),
        };
        let recorded = match aim {
            For::Order(id) => record_deposit(tx, doing, id, &money, false).map(drop),
            For::Invoice(id) => record_payment(tx, doing, who, &money, &[(id, paid.amount)], false, false).map(drop),
            For::Credit => record_payment(tx, doing, who, &money, &[], false, false).map(drop),
        };
        if all.done(line, recorded)?.is_none() {
            continue;
        }
        let detail = format!("{} on {}; {words}", paid.method.label(), full(paid.on));
        all.row(line, Fate::New, what(&name), detail);
    }
    Ok(())
}
