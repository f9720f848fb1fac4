//! Writing off what will not be paid any more of an invoice.

use super::{Doing, Failure};
use crate::book::ids::InvoiceId;
use crate::book::rows::ledger::NewInvoiceChange;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{invoices, ledger};
use crate::trade::ledger::{Act, ChangeKind};
use crate::trade::money::Money;

/// Gives up a part or all of what is owed on an invoice. Tax that was billed stays payable; whether it comes back is a question
/// for a tax adviser.
///
/// # Errors
/// [`Failure::Refused`] when the invoice is voided, less is owed, or no reason is given.
pub fn write_off(tx: &mut Tx, doing: &Doing, id: InvoiceId, amount: Money, reason: &str) -> Result<(), Failure> {
    let (invoice, customer, note) = invoices::get(tx.conn(), id)?;
    if note.is_some() {
        return Err(Failure::refuse("", format!("Invoice {} is voided; nothing is owed on it.", invoice.number)));
    }
    let paid = invoices::paid(tx.conn(), &[id])?.get(&id).copied().unwrap_or_default();
    let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
    if !amount.is_positive() || amount > owed {
        let owed = owed.max(Money::ZERO);
        return Err(Failure::refuse("amount", format!("{} is owed. Write off at most that", owed.dollars())));
    }
    if reason.trim().is_empty() {
        return Err(Failure::refuse("reason", "Write why; it stands in the story and the ledger"));
    }
    let mut posting = doing
        .posting(Act::WriteOff, doing.now.today, customer.id)
        .order(invoice.reservation_id)
        .invoice(id)
        .note(reason.trim());
    let change = NewInvoiceChange {
        invoice_id: id,
        kind: ChangeKind::WriteOff,
        amount: amount.negated(),
        tax: Money::ZERO,
        made_on: doing.now.today,
        reason: reason.trim().to_string(),
        number: None,
        document: None,
        made_at: doing.now.at,
    };
    invoices::change(tx, &mut posting, &change)?;
    ledger::post(tx, posting)?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("{} of invoice {} written off", amount.dollars(), invoice.number),
            detail: format!("{}.", reason.trim().trim_end_matches('.')),
            customer: Some(customer.id),
            reservation: Some(invoice.reservation_id),
            invoice: Some(id),
            ..Line::default()
        },
    )?;
    Ok(())
}
