//! Making the receipt of a payment that was recorded without one.

use super::make_receipt::{Part, make_receipt};
use super::{Doing, Failure};
use crate::book::ids::{PaymentId, ReceiptId};
use crate::book::payments::{self, For};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{invoices, reservations};
use crate::trade::money::Money;
use crate::trade::vocabulary::PaymentKind;

/// Makes the receipt, which says what the money stands for now; the one there is when there is one.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such payment; [`Failure::Refused`] when it is money given back.
pub fn receipt_later(tx: &mut Tx, doing: &Doing, id: PaymentId) -> Result<(ReceiptId, String), Failure> {
    let payment = payments::get(tx.conn(), id)?;
    if payment.kind == PaymentKind::Refund {
        return Err(Failure::refuse("", "That is money you gave back; a receipt is for money you received."));
    }
    if let Some(receipt) = payments::receipt_of(tx.conn(), id)? {
        return Ok((receipt.id, receipt.number));
    }
    let mut parts = Vec::new();
    for (what, amount) in payments::parts_of(tx.conn(), id)? {
        let name = match what {
            For::Order(order) => format!("Deposit, order {}", reservations::get(tx.conn(), order)?.0.number),
            For::Invoice(invoice) => format!("Invoice {}", invoices::get(tx.conn(), invoice)?.0.number),
        };
        parts.push(Part { name, amount });
    }
    let rest = payment.amount.minus(Money::sum(parts.iter().map(|p| p.amount))?)?;
    if rest.is_positive() {
        parts.push(Part { name: "Credit".into(), amount: rest });
    }
    let (receipt, number) = make_receipt(tx, doing, id, &parts, Vec::new())?;
    let told = Line {
        line: format!("Receipt {number} was made for {}", payment.amount.dollars()),
        customer: Some(payment.customer_id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok((receipt, number))
}
