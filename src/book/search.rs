//! Finding animals by tag, and papers by number.

use super::conn::DbConn;
use super::ids::{InvoiceId, ReceiptId};
use super::people::anywhere;
use super::rows::animals::Animal;
use super::schema::{animal, invoice, receipt};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Text;

/// Animals whose tag holds the words, newest first. `typed` are the words before folding, because the database folds
/// unaccented letters only.
///
/// # Errors
/// The database's own.
pub fn animals(c: &mut DbConn, folded: &str, typed: &str, limit: i64) -> QueryResult<Vec<Animal>> {
    animal::table
        .filter(
            sql::<Text>("LOWER(animal.tag)")
                .like(anywhere(folded))
                .escape('\\')
                .or(animal::tag.like(anywhere(typed)).escape('\\')),
        )
        .order(animal::id.desc())
        .limit(limit)
        .select(Animal::as_select())
        .load(c)
}

/// Invoices whose number holds the words, newest first.
///
/// # Errors
/// The database's own.
pub fn invoices(c: &mut DbConn, folded: &str, limit: i64) -> QueryResult<Vec<(InvoiceId, String)>> {
    invoice::table
        .filter(invoice::number.like(anywhere(&folded.to_uppercase())).escape('\\'))
        .order(invoice::id.desc())
        .limit(limit)
        .select((invoice::id, invoice::number))
        .load(c)
}

/// Receipts whose number holds the words, newest first.
///
/// # Errors
/// The database's own.
pub fn receipts(c: &mut DbConn, folded: &str, limit: i64) -> QueryResult<Vec<(ReceiptId, String)>> {
    receipt::table
        .filter(receipt::number.like(anywhere(&folded.to_uppercase())).escape('\\'))
        .order(receipt::id.desc())
        .limit(limit)
        .select((receipt::id, receipt::number))
        .load(c)
}
