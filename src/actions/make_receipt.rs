//! Making a numbered receipt for a payment; a payment has at most one.

use super::letterhead::{addressed, letterhead};
use super::{Doing, Failure};
use crate::book::ids::{PaymentId, ReceiptId};
use crate::book::rows::money::NewReceipt;
use crate::book::rows::people::Customer;
use crate::book::schema::customer;
use crate::book::store::Tx;
use crate::book::{counters, farm, payments};
use crate::paper::parts::{Fact, Line, Sum};
use crate::paper::receipt::Receipt;
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::number::Series;
use crate::trade::vocabulary::PayMethod;
use chrono::Datelike;
use diesel::prelude::*;

/// What a part of the payment is for, as a line of the receipt.
#[derive(Debug, Clone)]
pub struct Part {
    /// "Deposit on order 2027-031, half beef".
    pub name: String,
    /// How much.
    pub amount: Money,
}

/// "check 1182", "cash".
pub fn method_words(method: PayMethod, reference: &str) -> String {
    let name = method.label().to_lowercase();
    if reference.is_empty() { name } else { format!("{name} {reference}") }
}

/// Makes the receipt of a payment, or returns the one it has. `parts` add up to the payment; `notes` are paragraphs below.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such payment.
pub fn make_receipt(
    tx: &mut Tx,
    doing: &Doing,
    id: PaymentId,
    parts: &[Part],
    notes: Vec<String>,
) -> Result<(ReceiptId, String), Failure> {
    if let Some(receipt) = payments::receipt_of(tx.conn(), id)? {
        return Ok((receipt.id, receipt.number));
    }
    let p = payments::get(tx.conn(), id)?;
    let person: Customer = customer::table.find(p.customer_id).select(Customer::as_select()).first(tx.conn())?;
    let farm = farm::get(tx.conn())?;
    let year = doing.now.today.year();
    let number = Series::Receipt.number(year, counters::next(tx, &Series::Receipt.counter(year))?);
    let line =
        |name: &str, amount| Line { name: name.to_string(), note: String::new(), reckoned: String::new(), amount };
    let document = Receipt {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(&farm),
        number: number.clone(),
        date: dates::full(doing.now.today),
        from: addressed(&person),
        facts: vec![
            Fact { name: "Received".into(), value: dates::full(p.received_on) },
            Fact { name: "Paid by".into(), value: method_words(p.method, &p.reference) },
        ],
        lines: parts.iter().map(|part| line(&part.name, part.amount)).collect(),
        total: Sum { name: "Received".into(), amount: p.amount },
        notes,
    };
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let receipt = payments::insert_receipt(
        tx,
        &NewReceipt { number: number.clone(), payment_id: id, made_on: doing.now.today, document: json },
    )?;
    Ok((receipt, number))
}
