//! Finding animals by tag, and papers by number.

use super::conn::DbConn;
use super::ids::{InvoiceId, ReceiptId};
use super::people::anywhere;
use super::rows::animals::Animal;
use super::schema::{animal, invoice, receipt};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Text;

/// Animals whose tag holds the folded words, newest first.
///
/// # Errors
/// The database's own.
pub fn animals(c: &mut DbConn, folded: &str, limit: i64) -> QueryResult<Vec<Animal>> {
    animal::table
        .filter(sql::<Text>("LOWER(animal.tag)").like(anywhere(folded)).escape('\\'))
        .order(animal::id.desc())
        .limit(limit)
        .select(Animal::as_select())
        .load(c)
}

/// Invoices and receipts whose number holds the words: where they are, and what they are called.
///
/// # Errors
/// The database's own.
pub fn papers(c: &mut DbConn, folded: &str, limit: i64) -> QueryResult<Vec<(String, String)>> {
    let pattern = anywhere(&folded.to_uppercase());
    let invoices: Vec<(InvoiceId, String)> = invoice::table
        .filter(invoice::number.like(pattern.clone()).escape('\\'))
        .order(invoice::id.desc())
        .limit(limit)
        .select((invoice::id, invoice::number))
        .load(c)?;
    let receipts: Vec<(ReceiptId, String)> = receipt::table
        .filter(receipt::number.like(pattern).escape('\\'))
        .order(receipt::id.desc())
        .limit(limit)
        .select((receipt::id, receipt::number))
        .load(c)?;
    let mut out: Vec<(String, String)> =
        invoices.into_iter().map(|(id, n)| (format!("/invoices/{id}"), format!("Invoice {n}"))).collect();
    out.extend(receipts.into_iter().map(|(id, n)| (format!("/receipts/{id}.pdf"), format!("Receipt {n}"))));
    Ok(out)
}
