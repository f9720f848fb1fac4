//! Interest on an overdue invoice: off unless the farm says a rate, shown, and charged only by a click. It is added to what is owed as
//! storage is, with its posting in the ledger. Whether a farm may charge it is for its lawyer to say.

use super::balance_letter::in_force;
use super::{Doing, Failure};
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::ids::InvoiceId;
use crate::book::rows::balances::NewInterestCharge;
use crate::book::rows::ledger::NewInvoiceChange;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{balances, invoices, ledger};
use crate::trade::dates;
use crate::trade::ledger::{Act, ChangeKind};
use crate::trade::money::Money;
use crate::trade::overdue::{Interest, interest};

/// What stands beside the rate and the button.
pub const CAUTION: &str = "Whether you may charge interest, how much, and whether it must have been agreed before differs from state to state. Have it stand \
in your terms, and ask a lawyer before you charge any.";

/// Interest that could be charged on an invoice now; none without a rate, when it is not late for a whole month, or voided.
///
/// # Errors
/// [`Failure::Refused`] when it is more than can be recorded.
pub fn proposed(c: &mut DbConn, id: InvoiceId, now: Now) -> Result<Option<Interest>, Failure> {
    let Some(rate) = in_force(c)?.interest else { return Ok(None) };
    let (invoice, _, note) = invoices::get(c, id)?;
    if note.is_some() {
        return Ok(None);
    }
    let paid = invoices::paid(c, &[id])?.get(&id).copied().unwrap_or_default();
    let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
    let (months, charged) = balances::interest_charged(c, id)?;
    Ok(interest(rate, invoice.due_on, now.today, owed, charged, months)?)
}

/// Charges what the page showed.
///
/// # Errors
/// [`Failure::Refused`] when it comes to something else by now, or there is nothing to charge.
pub fn charge_interest(tx: &mut Tx, doing: &Doing, id: InvoiceId, shown: Money) -> Result<(), Failure> {
    let Some(now) = proposed(tx.conn(), id, doing.now)? else {
        return Err(Failure::refuse("", "There is no interest to charge on this invoice."));
    };
    if now.amount != shown {
        let says = format!("It was {} when you looked and is {} now.", shown.dollars(), now.amount.dollars());
        return Err(Failure::refuse("", says));
    }
    let (invoice, who, _) = invoices::get(tx.conn(), id)?;
    let name = format!("Interest through {}", dates::full(now.through));
    let mut posting = doing
        .posting(Act::Interest, doing.now.today, who.id)
        .order(invoice.reservation_id)
        .invoice(id)
        .note(name.clone());
    let change = NewInvoiceChange {
        invoice_id: id,
        kind: ChangeKind::Charge,
        amount: now.amount,
        tax: Money::ZERO,
        made_on: doing.now.today,
        reason: name.clone(),
        number: None,
        document: None,
        made_at: doing.now.at,
    };
    let change_id = invoices::change(tx, &mut posting, &change)?;
    ledger::post(tx, posting)?;
    balances::note_interest(
        tx,
        &NewInterestCharge {
            invoice_id: id,
            months: i64::from(now.months),
            through_day: now.through,
            change_id,
            made_at: doing.now.at,
        },
    )?;
    let line = Line {
        line: format!("{name}, {}", now.amount.dollars()),
        detail: format!("On {}, added to invoice {}.", now.on.dollars(), invoice.number),
        customer: Some(who.id),
        reservation: Some(invoice.reservation_id),
        invoice: Some(id),
        ..Line::default()
    };
    Ok(stories::tell(tx, doing.now.at, &doing.actor, line)?)
}
