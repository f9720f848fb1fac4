//! What money may be for, as a list to choose from: open invoices, deposits that are due, and customers who were looked for.

use crate::actions::Failure;
use crate::actions::unmatched_money::ForWhat;
use crate::book::bank_open::waiting_for_money;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, InvoiceId, ReservationId};
use crate::book::people;
use crate::trade::bank::suggest::{Candidate, What};
use crate::trade::fold::fold;
use crate::web::look::Choices;

/// Customers in the list.
const LISTED: i64 = 50;
/// Everything else in it.
const MOST: usize = 300;

/// A candidate as a choice: its word and what people read.
pub fn choice(c: &Candidate) -> Option<(String, String)> {
    let amount = c.amount.dollars();
    match c.what {
        What::Invoice => {
            let number = c.invoice.clone().unwrap_or_default();
            Some((format!("invoice-{}", c.id), format!("{}: invoice {number}, {amount} owed", c.name)))
        }
        What::Deposit => {
            let number = c.order.clone().unwrap_or_default();
            Some((format!("order-{}", c.id), format!("{}: deposit on order {number}, {amount} due", c.name)))
        }
        _ => None,
    }
}

/// What money may be for; with words, of the customers they name only, and as their credit too.
///
/// # Errors
/// When the book cannot be read.
pub fn choices(c: &mut DbConn, q: &str) -> Result<Choices, Failure> {
    let words = fold(q);
    let named = |name: &str| words.split(' ').all(|w| fold(name).contains(w));
    let mut all: Vec<Candidate> = waiting_for_money(c)?.into_iter().filter(|c| named(&c.name)).collect();
    all.sort_by(|a, b| fold(&a.name).cmp(&fold(&b.name)).then(a.id.cmp(&b.id)));
    let mut out: Choices = all.iter().take(MOST).filter_map(choice).collect();
    if !words.is_empty() {
        let people = people::page(c, &words, None, LISTED)?;
        out.extend(people.iter().map(|p| (format!("customer-{}", p.id), format!("{}: credit, for later", p.name))));
    }
    Ok(out)
}

/// Reads a choice.
pub fn read(word: &str) -> Option<ForWhat> {
    let (what, id) = word.split_once('-')?;
    let id: i64 = id.parse().ok()?;
    match what {
        "invoice" => Some(ForWhat::Invoice(InvoiceId(id))),
        "order" => Some(ForWhat::Order(ReservationId(id))),
        "customer" => Some(ForWhat::Customer(CustomerId(id))),
        _ => None,
    }
}

/// A refusal whose sentences are about the whole where they name a field that is not on the page: the acts know the fields of other
/// forms.
pub fn on_this_page(failure: Failure, fields: &[&str]) -> Failure {
    match failure {
        Failure::Refused(mut problems) => {
            for p in problems.0.iter_mut().filter(|p| !fields.contains(&p.field.as_str())) {
                p.field = String::new();
            }
            Failure::Refused(problems)
        }
        other => other,
    }
}
