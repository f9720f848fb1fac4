//! Bills of sale: the papers as they were made, and the farm's words for the next one.

use super::conn::DbConn;
use super::ids::{BillOfSaleId, ReservationId};
use super::rows::bills_of_sale::{BillOfSale, BillOfSaleText, NewBillOfSale};
use super::schema::{bill_of_sale, bill_of_sale_text, reservation};
use super::store::Tx;
use diesel::prelude::*;

/// Keeps a bill of sale.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewBillOfSale) -> QueryResult<BillOfSaleId> {
    diesel::insert_into(bill_of_sale::table).values(new.clone()).returning(bill_of_sale::id).get_result(tx.conn())
}

/// The bills of sale of an order, the latest first.
///
/// # Errors
/// The database's own.
pub fn of_order(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<BillOfSale>> {
    bill_of_sale::table
        .filter(bill_of_sale::reservation_id.eq(order))
        .order(bill_of_sale::id.desc())
        .select(BillOfSale::as_select())
        .load(c)
}

/// The number of the order and the content of a bill of sale.
///
/// # Errors
/// `NotFound` when there is none.
pub fn paper(c: &mut DbConn, id: BillOfSaleId) -> QueryResult<(String, String)> {
    bill_of_sale::table
        .inner_join(reservation::table)
        .filter(bill_of_sale::id.eq(id))
        .select((reservation::number, bill_of_sale::document))
        .first(c)
}

/// The farm's words and their version; none while the sample holds.
///
/// # Errors
/// The database's own.
pub fn text(c: &mut DbConn) -> QueryResult<Option<(String, i64)>> {
    bill_of_sale_text::table
        .order(bill_of_sale_text::id)
        .select((bill_of_sale_text::body, bill_of_sale_text::version))
        .first(c)
        .optional()
}

/// Saves the farm's words if nobody did since `version`, 0 for the sample; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save_text(tx: &mut Tx, body: &str, version: i64) -> QueryResult<bool> {
    let row = BillOfSaleText { body: body.to_owned(), version: version.saturating_add(1) };
    if version == 0 {
        if text(tx.conn())?.is_some() {
            return Ok(false);
        }
        diesel::insert_into(bill_of_sale_text::table).values(row).execute(tx.conn())?;
        return Ok(true);
    }
    let stored = bill_of_sale_text::table.filter(bill_of_sale_text::version.eq(version));
    Ok(diesel::update(stored).set(row).execute(tx.conn())? == 1)
}
